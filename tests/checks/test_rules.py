"""Each rule at work: what is said, and which findings the closing check then has.

All cases start from a small volume with which nothing is wrong.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.checks.logs import SOUND, confirmed, read_entries
from voicelog.checks.closing import CheckOptions, find_findings, rules
from voicelog.checks.sequence import ImagedBy
from voicelog.domain.finding import Finding
from voicelog.extraction.closing_count import parse_closing_count
from voicelog.extraction.reader import Reader

TICKET = SOUND[9]
SECOND = (
    "volume two, the picnic album, spiral binding, self-adhesive pages, ten by eleven inches",
    "two leaves",
    "imaged page by page",
    "leaf one, a menu, secure",
    "verso, blank",
    "leaf two, blank both sides",
    "the volume goes in box two",
    "the volume is labelled",
    "box two holds the volume",
)


def check(
    notes: tuple[str, ...], reader: Reader, options: CheckOptions | None = None
) -> tuple[Finding, ...]:
    """Return the findings on what these notes give, cautions left out."""
    found = find_findings(
        confirmed(read_entries(notes, reader)), reader.vocabulary, options or CheckOptions()
    )
    return tuple(one for one in found if one.code != "caution")


def without(*notes: str) -> tuple[str, ...]:
    """Return the sound volume without some of its notes."""
    assert set(notes) <= set(SOUND)
    return tuple(note for note in SOUND if note not in notes)


def instead(old: str, *new: str) -> tuple[str, ...]:
    """Return the sound volume with other notes in the place of one."""
    at = SOUND.index(old)
    return (*SOUND[:at], *new, *SOUND[at + 1 :])


def after(old: str, *new: str) -> tuple[str, ...]:
    """Return the sound volume with more notes behind one."""
    return instead(old, old, *new)


def test_a_volume_with_nothing_wrong_has_no_finding(reader: Reader) -> None:
    """Not even a notice, once its entries are confirmed."""
    assert check(SOUND, reader) == ()
    assert check((*SOUND, *SECOND), reader) == ()


MISTAKES = [
    # --- the sequence of leaves
    ("leaf-not-logged", "a leaf is skipped",
     instead("two leaves", "three leaves"), ["image-count", "side-not-imaged"]),
    ("leaf-beyond-count", "more leaves than were counted",
     after("verso, blank, image 6", "leaf three, blank both sides"), ["entry-doubtful"]),
    ("leaf-repeated", "a leaf is begun again after another",
     after("verso, blank, image 6", "leaf one, a map, secure", "leaf two verso"), []),
    ("side-not-logged", "a side that nobody spoke of",
     without("verso, blank, image 4"), ["side-not-imaged", "image-number-missing", "image-count"]),
    ("blank-contradicted", "something lies on a blank side",
     after("verso, blank, image 6", "a map, secure"), ["entry-doubtful"]),
    # --- items
    ("loose-without-destination", "a thing came off and went nowhere",
     instead(TICKET, "came off, number on the back"), ["count-differs"]),
    ("loose-without-destination", "a thing fell out",
     instead(SOUND[6], "leaf one, a postcard, fell out, image 3"), []),
    ("loose-without-destination", "a thing only laid in",
     instead(SOUND[6], "leaf one, a postcard, laid in, image 3"), []),
    ("detached-not-inscribed", "a back without a number",
     instead(TICKET, "came off, goes in envelope one"), []),
    ("detached-not-inscribed", "nothing can be written on it, and no enclosure carries the number",
     after(SOUND[6], "a tintype, came off, isolated"), []),
    ("discarded-unnamed", "something was thrown away",
     after(SOUND[6], "discarded"), []),
    ("missing-but-present", "a thing that is gone holds firmly",
     after(SOUND[6], "a snapshot missing, residue only", "it is secure"), []),
    # --- enclosures
    ("enclosed-without-number", "an envelope without its number",
     instead(TICKET, "came off, number on the back, enclosed"), ["count-differs"]),
    ("enclosure-in-two-volumes", "the same number in two volumes",
     (*SOUND, *SECOND[:4], "came off, number on the back, goes in envelope one", *SECOND[4:-1],
      "box two holds the volume and an envelope"), []),
    # --- the box
    ("count-differs", "an envelope left on the bench",
     instead(SOUND[-1], "box one holds the volume and no envelopes"), []),
    ("count-differs", "a folder too many",
     instead(SOUND[-1], "box one holds the volume, one envelope and two folders"), []),
    ("count-differs", "two volumes in one box",
     instead(SOUND[-1], "box one holds both volumes and one envelope"), []),
    ("enclosure-not-counted", "an envelope is never mentioned again",
     instead(SOUND[-1], "box one holds the volume"), []),
    ("enclosure-not-counted", "another envelope was named",
     instead(SOUND[-1], "box one holds the volume and envelope two"), ["counted-unknown"]),
    ("counted-unknown", "an envelope that the log doesn't know",
     instead(SOUND[-1], "box one holds the volume and envelopes one and two"), []),
    ("counted-unknown", "a volume that is in another box",
     (*SOUND, *SECOND, "box two holds volume two and volume one"), []),
    ("counted-unknown", "a box that no volume is in",
     (*SOUND, "box seven holds the volume"), []),
    ("box-not-counted", "the lid closes without a count", without(SOUND[-1]), []),
    # --- the volume
    ("volume-incomplete", "no binding",
     instead(SOUND[1], "volume one, the green book, black paper"), []),
    ("volume-incomplete", "no support",
     instead(SOUND[1], "volume one, the green book, post binding"), []),
    ("volume-incomplete", "no size", without(SOUND[2]), []),
    ("leaves-uncounted", "nobody counted the leaves", without("two leaves"), []),
    ("volume-not-boxed", "the volume is still on the bench",
     without("the volume goes in box one", SOUND[-1]), []),
    ("volume-not-labelled", "a box that shows nothing on the shelf",
     without("the volume is labelled"), []),
    ("accession-missing", "no accession number", without(SOUND[0]), []),
    ("volume-missing", "no volume was named",
     ("accession 2031-007", "leaf one, a map, secure", "verso, blank"), []),
    # --- doubts
    ("entry-doubtful", "words that nobody understood",
     after(SOUND[6], "flurb the wibble"), []),
    # --- hazards
    ("hazard-not-isolated", "mould, and nothing done", after(SOUND[6], "mould"), []),
    ("hazard-not-isolated", "the second of two mouldy things",
     after(SOUND[6], "mould, isolated", "a map, secure, mould"), []),
    # --- images
    ("volume-not-imaged", "no image at all",
     (*SOUND, *(note for note in SECOND if "imaged" not in note)), []),
    ("side-not-imaged", "a page not imaged",
     instead("verso, blank, image 4", "verso, blank"), ["image-number-missing", "image-count"]),
    ("image-number-missing", "a number that nobody said",
     instead("back cover, image 8", "back cover, image 9"), []),
    ("image-number-twice", "one number for two sides",
     instead("verso, blank, image 4", "verso, blank, image 3"),
     ["image-number-missing", "image-count"]),
    ("image-count", "an image too many",
     instead("back cover, image 8", "back cover, images 8 and 9"), []),
    ("image-count", "a fold-out needs one more",
     after(SOUND[6], "fold-out"), []),
    ("image-count", "a lifted layer needs one more",
     after(SOUND[6], "a map under the postcard, secure"), []),
    ("image-count", "the spine was spoken of, and not imaged",
     after(SOUND[5], "spine, faded"), ["side-not-imaged"]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("code", "says", "notes", "along"), MISTAKES, ids=[f"{one[0]}: {one[1]}" for one in MISTAKES]
)
def test_a_mistake_is_found(
    code: str, says: str, notes: tuple[str, ...], along: list[str], reader: Reader
) -> None:
    """Exactly it, and what cannot be otherwise when it is there."""
    del says
    found = check(notes, reader)
    assert sorted({one.code for one in found}) == sorted({code, *along})


SOUND_TOO = [
    ("a leaf out of order, in one go",
     (*SOUND[:6], *SOUND[8:11], *SOUND[6:8], *SOUND[11:])),
    ("a lettered leaf counts as a leaf",
     (*SOUND[:3], "three leaves", *SOUND[4:11], "leaf two A, blank, image 9",
      "verso, blank, image 10", *SOUND[11:])),
    ("loose, and left where it is",
     instead(SOUND[6], "leaf one, a postcard, fell out, left in place, image 3")),
    ("a thing inside another goes where that goes",
     after(TICKET, "a menu, laid in, inside the ticket")),
    ("a tintype in an envelope is not written on",
     instead(TICKET, "came off, number on the back, goes in envelope one",
             "a tintype, came off, goes in envelope one")),
    ("what was discarded is named", after(SOUND[6], "old tape discarded")),
    ("a thing is gone, and that is all", after(SOUND[6], "a snapshot missing, residue only")),
    ("a residue on a blank page",
     instead("verso, blank, image 4", "verso, image 4", "a snapshot missing, residue only")),
    ("mould, and the volume is isolated",
     (*after(SOUND[6], "mould"), "the volume is isolated")),
    ("mould, and it was referred", after(SOUND[6], "mould, referred")),
    ("a count by numbers", instead(SOUND[-1], "box one holds the volume and envelope one")),
    ("a count said again replaces the first",
     instead(SOUND[-1], "box one holds the volume", SOUND[-1])),
    ("what was found between leaves has an image of its own",
     after("verso, blank, image 4", "between leaves one and two, a menu, laid in, left in place",
           "image 9")),
    ("an item and its side share an image", after(SOUND[6], "a map, secure, image 3")),
    ("imaged by openings, each number once",
     tuple(
         {"inside front cover, blank, image 2": "inside front cover, blank, image 2",
          SOUND[6]: "leaf one, a postcard, photo corners, secure, image 2",
          "verso, blank, image 4": "verso, blank, image 3",
          "leaf two, a ticket, image 5": "leaf two, a ticket, image 3",
          "verso, blank, image 6": "verso, blank, image 4",
          "inside back cover, blank, image 7": "inside back cover, blank",
          "back cover, image 8": "back cover, image 5",
          "now": "imaged by openings"}.get(note, note)
         for note in (*SOUND[:4], "now", *SOUND[4:])
     )),
]  # fmt: skip


@pytest.mark.parametrize(("says", "notes"), SOUND_TOO, ids=[one[0] for one in SOUND_TOO])
def test_a_near_miss_is_no_mistake(says: str, notes: tuple[str, ...], reader: Reader) -> None:
    """What only looks like one raises nothing."""
    del says
    assert [(one.code, one.message) for one in check(notes, reader)] == []


def test_an_accession_number_outside_the_register(reader: Reader) -> None:
    """Where the repository lists its numbers; else any number will do."""
    listed = CheckOptions(known_accessions=("2031-007",))
    assert check(SOUND, reader, listed) == ()
    others = CheckOptions(known_accessions=("2031-008", "2031-009"))
    assert [one.code for one in check(SOUND, reader, others)] == ["accession-unregistered"]


def test_a_mark_given_twice(reader: Reader) -> None:
    """A correction may bring two things to one mark; both entries stand behind it."""
    entries = confirmed(read_entries(SOUND, reader))
    doubled = tuple(
        replace(one, mark="2031-007 vol. 1, 2r, 1") if one.item_type else one for one in entries
    )
    found = find_findings(doubled, reader.vocabulary, CheckOptions())
    assert [one.code for one in found] == ["mark-twice"]
    assert found[0].notes == (7, 9, 10)


def test_unconfirmed_entries_are_a_notice(reader: Reader) -> None:
    """One for each volume, and nothing that keeps the lid open."""
    found = find_findings(read_entries(SOUND, reader), reader.vocabulary, CheckOptions())
    assert [(one.code, one.is_open) for one in found] == [("entries-unconfirmed", False)]


def test_each_caution_is_shown_once_a_volume_with_its_closing_sentence(reader: Reader) -> None:
    """However many things raise it; all their notes stand behind it."""
    notes = after(SOUND[6], "mould, isolated", "a map, secure, mould, isolated")
    found = find_findings(read_entries(notes, reader), reader.vocabulary, CheckOptions())
    cautions = [one for one in found if one.code == "caution"]
    assert len(cautions) == 1
    assert cautions[0].message.endswith(
        "Follow local codes and policies; a conservator or other licensed professional decides."
    )
    assert cautions[0].notes == (7, 8, 9)


def test_a_count_given_beside_the_log_comes_last(reader: Reader) -> None:
    """It replaces what was said of the same box."""
    counts = [parse_closing_count("box 1 holds the volume and two envelopes")]
    found = find_findings(
        confirmed(read_entries(SOUND, reader)), reader.vocabulary, CheckOptions(), counts=counts
    )
    assert [one.message for one in found] == [
        "2 envelopes were counted into box 1; the log expects 1 (envelope 1)."
    ]


def test_openings_can_be_the_rule_of_the_house(reader: Reader) -> None:
    """Then the notes need not say so; a volume imaged by pages has too many images."""
    found = check(SOUND, reader, CheckOptions(imaged_by=ImagedBy.OPENINGS))
    assert [one.message for one in found] == [
        "5 images are expected (3 openings, 2 seen closed: covers, spine, pocket), 8 are numbered."
    ]


def test_every_rule_that_needs_no_scans_has_a_case() -> None:
    """No rule without a mistake that shows it."""
    elsewhere = {"accession-unregistered", "mark-twice", "entries-unconfirmed", "caution"}
    shown = {one[0] for one in MISTAKES} | elsewhere
    of_scans = {one.code for one in rules() if one.code.startswith(("scan-", "number-without"))}
    assert shown == {one.code for one in rules()} - of_scans


def test_no_code_is_given_twice() -> None:
    """A code is permanent, and means one thing."""
    codes = [one.code for one in rules()]
    assert len(codes) == len(set(codes))


def test_void_entries_raise_nothing(reader: Reader) -> None:
    """What was struck is gone."""
    assert check((*SOUND[:7], "a map, came off", "strike that", *SOUND[7:]), reader) == ()


def test_ids_hang_on_facts_and_not_on_display_numbers(reader: Reader) -> None:
    """A finding keeps its id while others come and go, and loses it when its facts change."""
    three, four = (
        instead(SOUND[-1], f"box one holds the volume and {many} envelopes")
        for many in ("three", "four")
    )
    (before,) = check(three, reader)
    same = check((*three[:4], "front cover, soiled", "spine, faded", *three[4:]), reader)
    assert len(same) > 1
    assert before.id in {one.id for one in same}
    assert before.id not in {one.id for one in check(four, reader)}
