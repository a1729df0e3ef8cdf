"""Which concept a wording stands for, where it could stand for several."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.extraction.pipeline.language_pipeline import FoundTerm
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import Concept, TermField

VOLUME_FIELDS = frozenset({TermField.BINDING, TermField.SUPPORT, TermField.OVERLAY})
# On a leaf these words mean too many other things to be taken for the volume's make-up.
_PLAIN_ON_A_LEAF = frozenset(
    {
        "tissue", "glassine", "fabric", "stapled", "portfolio", "card stock", "sewn binding",
        "laced binding", "adhesive binding", "spiral binding", "clear plastic", "plastic sleeve",
    }
)  # fmt: skip
_FASTENERS = {
    "staple": "staple", "staples": "staple", "pin": "pin", "pins": "pin", "clip": "paper clip",
    "clips": "paper clip", "paperclip": "paper clip", "brad": "brad", "brads": "brad",
}  # fmt: skip
FASTENERS = frozenset(_FASTENERS.values())
"""The attachments that are metal, as the vocabulary writes them."""
_ORDER = (
    TermField.ITEM_TYPE,
    TermField.CONDITION,
    TermField.ADHESION,
    TermField.ATTACHMENT,
    TermField.ACTION,
    TermField.POSITION,
)


def choose_concept(found: FoundTerm, *, in_volume: bool, after_volume_word: bool) -> Concept | None:
    """Return the concept meant, or None where the words mean nothing here.

    Args:
        found: the concepts that the wording may stand for, one per field.
        in_volume: whether the volume is being spoken of.
        after_volume_word: whether "binding", "support" or the like stands right before.
    """
    by_field = {concept.field: concept for concept in found.concepts}
    of_volume = next((by_field[field] for field in VOLUME_FIELDS if field in by_field), None)
    if of_volume is not None and (in_volume or after_volume_word):
        return of_volume
    for field in _ORDER:
        if field in by_field:
            return by_field[field]
    if of_volume is not None and of_volume.term not in _PLAIN_ON_A_LEAF:
        return of_volume
    return None


def fastener_in(tokens: Sequence[Token]) -> str | None:
    """Return the fastener named among these words: "rusted staple" is a staple."""
    return next((_FASTENERS[one.norm] for one in tokens if one.norm in _FASTENERS), None)
