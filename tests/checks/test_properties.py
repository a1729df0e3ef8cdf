"""What holds for every log, however it came about."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.checks.logs import read_entries
from voicelog.checks.closing import CheckOptions, find_findings, rules
from voicelog.checks.sequence import ImagedBy, find_sides, find_views
from voicelog.checks.volumes import group_volumes
from voicelog.domain.entry import (
    Adhesion,
    Entry,
    Kind,
    Relation,
    RelationKind,
    Side,
    Status,
)
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

VOCABULARY = load_vocabulary()
CODES = {rule.code: rule.severity for rule in rules()}
LEAVES = (
    "front cover",
    "spine",
    "flyleaf",
    "1",
    "2",
    "2B",
    "7",
    "40000",
    "between 2 and 3",
    "back cover",
)
ACTIONS = (
    "detached",
    "enclosed",
    "inscribed",
    "discarded",
    "isolated",
    "boxed",
    "labelled",
    "imaged",
)
REMARKS = (
    None, "fold-out", "imaged by openings", "box 1 holds the volume and envelopes 1 to 3",
    "box 2 holds no volumes; box 1 holds both volumes, 2 folders", "?",
)  # fmt: skip
IDS = tuple(f"e{number}" for number in range(8))


def some(*values: str, most: int = 3) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(values), max_size=most, unique=True).map(tuple)


@st.composite
def logs(draw: st.DrawFn) -> tuple[Entry, ...]:
    """Entries as notes, reviewers and imports may leave them, sense or nonsense."""
    entries = []
    for entry_id in IDS[: draw(st.integers(0, len(IDS)))]:
        kind = draw(st.sampled_from(Kind))
        has_leaf = kind is not Kind.VOLUME and draw(st.booleans())
        entries.append(
            Entry(
                id=entry_id,
                kind=kind,
                accession=draw(st.sampled_from([None, "2031-007"])),
                volume=draw(st.sampled_from([None, "1", "2"])),
                volume_name=draw(st.sampled_from([None, "the green book"])),
                leaf=draw(st.sampled_from(LEAVES)) if has_leaf else None,
                side=draw(st.sampled_from([None, *Side])) if has_leaf else None,
                item=draw(st.sampled_from([None, 1, 2])) if kind is Kind.ITEM else None,
                item_type=draw(some("postcard", "negative", "matchbook")),
                adhesion=draw(st.sampled_from([None, *Adhesion])),
                attachment=draw(some("laid in", "pin")),
                condition=draw(some("mould", "missing item", "flaking")),
                action=draw(some(*ACTIONS)),
                enclosure=draw(st.sampled_from([None, "envelope 1", "folder 2", "box 1"])),
                images=draw(st.lists(st.integers(0, 30), max_size=3).map(tuple)),
                mark=draw(st.sampled_from([None, "2031-007 vol. 1, 1r, 1"])),
                blank=draw(st.booleans()),
                leaves=draw(st.sampled_from([None, 0, 1, 3, 99_999])),
                remark=draw(st.sampled_from(REMARKS)),
                relations=tuple(
                    Relation(kind=draw(st.sampled_from(RelationKind)), id=other)
                    for other in draw(some(*IDS, "gone"))
                ),
                status=draw(st.sampled_from(Status)),
                notes=draw(st.lists(st.integers(1, 9), max_size=3, unique=True).map(tuple)),
            )
        )
    return tuple(entries)


@given(entries=logs(), imaged_by=st.sampled_from(ImagedBy))
@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=60)
def test_any_log_can_be_checked(entries: tuple[Entry, ...], imaged_by: ImagedBy) -> None:
    """No failure; the same findings every time, each with an id of its own and a known code."""
    options = CheckOptions(imaged_by=imaged_by)
    found = find_findings(entries, VOCABULARY, options)
    assert found == find_findings(entries, VOCABULARY, options)
    assert len({one.id for one in found}) == len(found)
    live = {one.id for one in entries if one.status is not Status.VOID}
    for one in found:
        assert CODES[one.code] is one.severity
        assert one.entry is None or one.entry in live
        assert one.message.endswith(".")
        assert one.remedy.endswith(".")
        assert list(one.notes) == sorted(set(one.notes))


@given(entries=logs())
@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=30)
def test_every_side_is_in_one_view_whether_by_pages_or_by_openings(
    entries: tuple[Entry, ...],
) -> None:
    """Nothing is left out, and nothing is seen twice."""
    for volume in group_volumes(entries):
        sides = find_sides(volume)
        assert len(set(sides)) == len(sides)
        for imaged_by in ImagedBy:
            views = find_views(volume, imaged_by)
            assert sorted(map(str, sides)) == sorted(str(side) for view in views for side in view)
            assert all(len(view) in {1, 2} for view in views)


GOLD = sorted((Path(__file__).parents[1] / "gold" / "tuning").glob("*.gold"))


@pytest.mark.parametrize("session", GOLD[:4], ids=lambda path: path.stem)
def test_ids_are_unique_in_logs_as_people_speak_them(session: Path, reader: Reader) -> None:
    """One finding can always be accepted without another."""
    lines = session.read_text(encoding="utf-8").splitlines()
    notes = [line[2:] for line in lines if line.startswith("> ")]
    found = find_findings(read_entries(notes, reader), reader.vocabulary, CheckOptions())
    assert found
    assert len({one.id for one in found}) == len(found)
