"""The demo log with one mistake of each kind sown in: each is found, and nothing else.

The notes are those of the demo recordings (demo_data/notes.toml), read as they were meant.
What the demo itself leaves open is compared away.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from tests.checks.logs import read_entries
from voicelog.checks.closing import CheckOptions, find_findings
from voicelog.domain.finding import Finding
from voicelog.extraction.reader import Reader

DEMO = Path(__file__).parents[2] / "demo_data" / "notes.toml"
NOTES = tuple(
    note
    for recording in tomllib.loads(DEMO.read_text(encoding="utf-8"))["recording"]
    for note in recording["notes"]
)
BADGE = "badge, fell out, goes into envelope four"
LAST = "check this"
# Of the whole log: how many images there should be follows from every leaf and side.
FOLLOWS = frozenset({"image-count", "entries-unconfirmed"})


def sow(old: str, *new: str) -> tuple[str, ...]:
    """Return the notes of the demo with others in the place of one."""
    assert NOTES.count(old) == 1, old
    at = NOTES.index(old)
    return (*NOTES[:at], *new, *NOTES[at + 1 :])


def behind(old: str, *new: str) -> tuple[str, ...]:
    """Return the notes of the demo with more behind one of them."""
    return sow(old, old, *new)


def check(notes: tuple[str, ...], reader: Reader) -> tuple[Finding, ...]:
    return find_findings(
        read_entries(notes, reader), reader.vocabulary,
        CheckOptions(known_accessions=("2031-007",)),
    )  # fmt: skip


SEEDS = [
    ("accession-unregistered",
     sow("accession twenty thirty one dash zero zero seven",
         "accession twenty thirty one dash zero zero nine"),
     {"accession-unregistered"}),
    ("accession-missing", NOTES[1:], {"accession-missing"}),
    ("volume-missing",
     sow("volume one, the green book", "leaf one, a map, secure", "verso, blank",
         "volume one, the green book"),
     {"volume-missing"}),
    ("volume-incomplete", sow("post binding, black paper", "post binding"), {"volume-incomplete"}),
    ("leaves-uncounted", sow("twenty four leaves", "mm"),
     {"leaves-uncounted", "side-not-imaged"}),
    ("volume-not-boxed", NOTES[:-1], {"volume-not-boxed"}),
    ("leaf-not-logged", sow("leaves ten to twelve blank", "leaves ten and twelve blank"),
     {"leaf-not-logged"}),
    ("leaf-repeated",
     behind(LAST, "leaf fourteen, a map, secure", "leaf fifteen, a brochure, secure"),
     {"leaf-repeated"}),
    ("leaf-beyond-count", behind("inside back cover, blank", "leaf thirty, blank both sides"),
     {"leaf-beyond-count", "entry-doubtful"}),
    ("side-not-logged", sow("verso, blank", "mm"), {"side-not-logged"}),
    ("blank-contradicted", behind("leaves ten to twelve blank", "leaf twelve, a menu, secure"),
     {"blank-contradicted", "entry-doubtful"}),
    ("loose-without-destination", sow(BADGE, "badge, fell out"),
     {"loose-without-destination"}),
    ("detached-not-inscribed", behind(LAST, "a ticket, came off",
                                      "goes into envelope six"),
     {"detached-not-inscribed"}),
    ("discarded-unnamed", behind(LAST, "a receipt, secure", "discarded"),
     {"discarded-unnamed"}),
    ("missing-but-present", behind("snapshot missing, residue only", "it is secure"),
     {"missing-but-present"}),
    ("enclosed-without-number", sow(BADGE,
                                    "badge, fell out, enclosed"),
     {"enclosed-without-number"}),
    ("enclosure-in-two-volumes",
     sow("facing page, menu, came away, goes into envelope five",
         "facing page, menu, came away, goes into envelope four"),
     {"enclosure-in-two-volumes"}),
    ("hazard-not-isolated", behind(LAST, "a matchbook, secure"),
     {"hazard-not-isolated", "caution"}),
    ("caution", behind(LAST, "a lock of hair, secure"), {"caution"}),
    ("count-differs",
     (*NOTES, "box one holds the volume and three envelopes"), {"count-differs"}),
    ("enclosure-not-counted",
     (*NOTES, "box one holds the volume and envelopes one, two and four"),
     {"enclosure-not-counted"}),
    ("counted-unknown",
     (*NOTES, "box one holds the volume and envelopes one to five"), {"counted-unknown"}),
    ("image-number-missing", behind("badge, pin, secure", "strike that", "leaf two, image fourteen",
                                    "leaf seven, badge, pin, secure"),
     {"image-number-missing", "side-not-imaged"}),
    ("image-number-twice", behind("leaves ten to twelve blank", "leaf twelve recto, image twelve"),
     {"image-number-twice", "side-not-imaged"}),
    ("entry-doubtful", behind(LAST, "flyer, flurbed"),
     {"entry-doubtful"}),
]  # fmt: skip


@pytest.mark.parametrize(("code", "notes", "expected"), SEEDS, ids=[one[0] for one in SEEDS])
def test_a_mistake_in_the_demo_log_is_found(
    code: str, notes: tuple[str, ...], expected: set[str], reader: Reader
) -> None:
    """What is new is exactly the mistake; beside it only what the reader itself doubts."""
    before = {(one.code, one.message) for one in check(NOTES, reader)}
    found = check(notes, reader)
    new = {one.code for one in found if (one.code, one.message) not in before} - FOLLOWS
    assert code in new
    assert new == expected
