"""The fields of an entry as the pages name, order and write them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from voicelog.domain.entry import Access, Entry, Kind, Relation, RelationKind
from voicelog.vocabulary.inflection import in_american, in_british


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """A field of the entry record on the pages.

    Attributes:
        name: its name in the record.
        label: what stands before the value.
        kinds: the kinds of entries that have it.
        hint: what can be typed, for whoever hasn't typed one before.
        is_term: whether its values are preferred terms.
    """

    name: str
    label: str
    kinds: frozenset[Kind]
    hint: str
    is_term: bool = False


_ITEM = frozenset({Kind.ITEM})
_VOLUME = frozenset({Kind.VOLUME})
_BELOW_VOLUME = frozenset({Kind.ITEM, Kind.LEAF})
_ALL = frozenset(Kind)

FIELDS: tuple[Field, ...] = (
    Field(name="accession", label="accession", kinds=_ALL, hint="as the repository writes it"),
    Field(name="volume", label="volume", kinds=_ALL, hint="its number, or the donor's name"),
    Field(name="volume_name", label="donor's name", kinds=_ALL, hint="the green book"),
    Field(name="leaf", label="leaf", kinds=_BELOW_VOLUME, hint="14, 7A, front cover, flyleaf"),
    Field(name="side", label="side", kinds=_BELOW_VOLUME, hint="recto, verso, or nothing"),
    Field(name="binding", label="binding", kinds=_VOLUME, hint="one term", is_term=True),
    Field(name="support", label="support", kinds=_VOLUME, hint="one term", is_term=True),
    Field(name="overlay", label="overlay", kinds=_VOLUME, hint="one term", is_term=True),
    Field(name="leaves", label="leaves", kinds=_VOLUME, hint="a number"),
    Field(name="item_type", label="type", kinds=_ITEM, hint="terms, with commas", is_term=True),
    Field(name="quantity", label="pieces", kinds=_ITEM, hint="a number"),
    Field(name="attachment", label="held by", kinds=_ITEM, hint="terms, with commas", is_term=True),
    Field(
        name="adhesion",
        label="holds",
        kinds=_ITEM,
        hint="secure, partly loose or loose",
        is_term=True,
    ),
    Field(name="condition", label="condition", kinds=_ALL, hint="terms, with commas", is_term=True),
    Field(name="action", label="done", kinds=_ALL, hint="terms, with commas", is_term=True),
    Field(name="enclosure", label="goes in", kinds=_ALL, hint="envelope 7"),
    Field(name="caption", label="caption", kinds=_ALL, hint="word for word"),
    Field(name="date", label="date", kinds=_ALL, hint="1952-06-04, June 1952, about 1960"),
    Field(name="dimensions", label="size", kinds=_ALL, hint="4 1/4 x 6 inches, 108 x 152 mm"),
    Field(name="position", label="position", kinds=_ITEM, hint="upper left", is_term=True),
    Field(
        name="relations",
        label="lies",
        kinds=_ITEM,
        hint="behind entry 12; belongs with entry 14",
    ),
    Field(name="images", label="images", kinds=_ALL, hint="numbers, with commas"),
    Field(name="mark", label="mark", kinds=_ITEM, hint="exactly as written on it"),
    Field(name="blank", label="blank", kinds=frozenset({Kind.LEAF}), hint="yes or no"),
    Field(name="remark", label="remark", kinds=_ALL, hint="whatever fits nowhere else"),
    Field(name="access", label="access", kinds=_ALL, hint="open or restricted"),
)

PLACE_FIELDS = frozenset({"accession", "volume", "volume_name", "leaf", "side"})
"""Shown above the rows, not in them, unless something about them is doubtful."""


def find_field(name: str) -> Field | None:
    """Return the field of this name, or None."""
    return next((field for field in FIELDS if field.name == name), None)


def label_of(name: str) -> str:
    """Return what a field is called on the pages."""
    field = find_field(name)
    return field.label if field else name.replace("_", " ")


def format_value(
    name: str, value: Any, *, spell: Callable[[str], str] = in_british, number_of: Any = None
) -> str:
    """Return a field's value in one line, as the pages show it and as it can be typed.

    >>> format_value("dimensions", (108.0, 152.4))
    '108 × 152.4 mm'
    >>> format_value("condition", ("yellowed", "tear"))
    'yellowed; tear'

    Args:
        name: the field.
        value: its value.
        spell: brings terms into the spelling that is wanted.
        number_of: gives the display number of an entry by its id, for relations.
    """
    if value is None or value == ():
        return ""
    if name == "dimensions":
        return " × ".join(f"{side:g}" for side in value) + " mm"
    if name == "relations":
        return "; ".join(_format_relation(relation, number_of) for relation in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple | list):
        parts = [str(part) for part in value]
        return "; ".join(_spell_all(name, parts, spell))
    return _spell_all(name, [str(value)], spell)[0]


def is_worth_showing(entry: Entry, name: str) -> bool:
    """Whether a row shows the field: it has a value that doesn't go without saying."""
    value = getattr(entry, name)
    if name == "quantity":
        return bool(value != 1)
    if name == "access":
        return bool(value is Access.RESTRICTED)
    return value not in (None, (), False, "")


def spelling(name: str) -> Callable[[str], str]:
    """Return what brings terms into a spelling: "british" or "american"."""
    return in_american if name == "american" else in_british


def _spell_all(name: str, parts: list[str], spell: Callable[[str], str]) -> list[str]:
    field = find_field(name)
    return [spell(part) for part in parts] if field and field.is_term else parts


def _format_relation(relation: Relation | Mapping[str, str], number_of: Any) -> str:
    # What a value was before a review is kept as the record writes it.
    if isinstance(relation, Mapping):
        relation = Relation(kind=RelationKind(relation["kind"]), id=relation["id"])
    number = number_of(relation.id) if number_of else None
    return f"{relation.kind} entry {number}" if number else str(relation.kind)
