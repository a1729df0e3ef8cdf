"""What follows from an entry's values: cautions, access, status and confidence."""

from __future__ import annotations

import re
from dataclasses import replace

from voicelog.domain.entry import Access, Entry, Status
from voicelog.extraction.doubting.calibration import load_calibration
from voicelog.extraction.doubting.unclear import judge_entry
from voicelog.vocabulary import TermField, Vocabulary

# Bases in use: cellulose nitrate until about 1951 (Image Permanence Institute, A-D strips).
LAST_NITRATE_YEAR = 1951
_FILM_TERMS = frozenset({"negative", "slide"})
_GREEN = re.compile(r"\b(?:green pigment|bright green|emerald green)\b", re.IGNORECASE)
_MEDICAL = re.compile(
    r"\b(?:medical|prescription|hospital record|vaccination|x-?ray|diagnosis)\b", re.IGNORECASE
)
_YEAR = re.compile(r"\d{4}")
_CAUTION_FIELDS = (
    (TermField.ITEM_TYPE, "item_type"),
    (TermField.ATTACHMENT, "attachment"),
    (TermField.CONDITION, "condition"),
)


def cautions_of(entry: Entry, vocabulary: Vocabulary) -> tuple[str, ...]:
    """Return the ids of all cautions that an entry's values call for."""
    called: dict[str, None] = {}
    for field, name in _CAUTION_FIELDS:
        for term in getattr(entry, name):
            concept = vocabulary.find(field, term)
            if concept is not None:
                called.update(dict.fromkeys(concept.cautions))
    if "nitrate-film" in called and not _may_be_nitrate(entry):
        del called["nitrate-film"]
    said = " ".join(filter(None, (entry.remark, entry.caption)))
    if set(entry.item_type) & _FILM_TERMS and "polyester" in said.lower():
        called.pop("acetate-film", None)
        called.pop("nitrate-film", None)
    if _GREEN.search(said):
        called["arsenic-pigment"] = None
    if _MEDICAL.search(said):
        called["privacy-report"] = None
    return tuple(called)


def _may_be_nitrate(entry: Entry) -> bool:
    """Film of about 1951 or earlier, or undated."""
    if entry.date is None:
        return True
    years = _YEAR.findall(entry.date.replace("X", "0"))
    return not years or min(int(year) for year in years) <= LAST_NITRATE_YEAR


def finish(
    entry: Entry, vocabulary: Vocabulary, shown_cautions: tuple[str, ...], *, query_below: float
) -> Entry:
    """Return the entry with status, confidence, cautions and access worked out.

    Args:
        entry: the entry with its values and doubts.
        vocabulary: knows which cautions restrict access.
        shown_cautions: those of its cautions that are shown on this entry, each being
            shown once in a volume.
        query_below: an entry with less confidence is queried.
    """
    if entry.status in {Status.VOID, Status.CONFIRMED}:
        return entry
    restricted = any(
        vocabulary.cautions[one].restricts_access for one in cautions_of(entry, vocabulary)
    )
    confidence, doubts = judge_entry(entry, load_calibration(), query_below=query_below)
    return replace(
        entry,
        doubts=doubts,
        cautions=shown_cautions,
        access=Access.RESTRICTED if restricted else Access.OPEN,
        status=Status.QUERIED if doubts else Status.HEARD,
        confidence=confidence,
    )
