"""A report is gathered volume by volume; it is what the whole log at once would give."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from tests.exports.logs import make_log
from tests.exports.report.samples import TICKET, VOLUME, spoken
from voicelog.checks.volumes import VolumeKey, group_volumes, key_of
from voicelog.domain.entry import Access, Entry, Status
from voicelog.domain.finding import Finding, Severity
from voicelog.exports.report.document import make_document
from voicelog.exports.report.material import (
    LONGEST_LIST,
    OpenFinding,
    Period,
    add_findings,
    sum_up_findings,
)
from voicelog.exports.report.page import iter_page
from voicelog.exports.report.timing import LONGEST_PAUSE_S, LeafClock, sum_up_time
from voicelog.settings import read_settings
from voicelog.store.note_log import NoteTime
from voicelog.wiring.handing_over import gather_report

any_entries = st.lists(
    st.builds(
        lambda number, volume, leaf, notes: replace(
            TICKET, id=f"e{number}", volume=volume, leaf=leaf, notes=tuple(notes)
        ),
        st.integers(0, 99),
        st.sampled_from("12"),
        st.sampled_from([None, "1", "2", "back cover"]),
        st.lists(st.integers(1, 12), max_size=4, unique=True),
    ),
    max_size=8,
).map(lambda entries: sorted(entries, key=lambda one: one.volume or ""))
any_notes = st.lists(
    st.tuples(st.floats(0, 900), st.floats(0, 900), st.sampled_from(["a.flac", "b.flac", None])),
    max_size=12,
).map(
    lambda times: [
        replace(spoken(number, start_s, start_s + length_s), recording=recording)
        for number, (start_s, length_s, recording) in enumerate(times, start=1)
    ]
)


def measure_by_looking_back(
    notes: list[NoteTime], entries: list[Entry]
) -> dict[tuple[VolumeKey, str], float]:
    """Return the seconds of each leaf, by looking through everything for every note."""
    spent: dict[tuple[VolumeKey, str], float] = {}
    said = [note for note in notes if note.recording is not None]
    here: Entry | None = None
    for at, note in enumerate(said):
        placed = [entry for entry in entries if entry.leaf is not None]
        made = [entry for entry in placed if entry.notes[:1] == (note.number,)]
        changed = [entry for entry in placed if note.number in entry.notes[1:]]
        here = made[-1] if made else changed[0] if changed else here
        if here is None or here.leaf is None:
            continue
        start_s, end_s = note.start_s or 0.0, note.end_s or 0.0
        until_s = end_s
        if at + 1 < len(said) and said[at + 1].recording == note.recording:
            next_s = said[at + 1].start_s or 0.0
            until_s = end_s if next_s - end_s > LONGEST_PAUSE_S else next_s
        where = (key_of(here), here.leaf)
        spent[where] = spent.get(where, 0.0) + max(0.0, until_s - start_s)
    return spent


@given(notes=any_notes, entries=any_entries)
def test_the_time_of_each_leaf_is_what_looking_back_gives(
    notes: list[NoteTime], entries: list[Entry]
) -> None:
    """Whichever entry a note made or changed, and wherever the work went on."""
    clock = LeafClock()
    for volume in group_volumes(entries):
        clock.know(volume)
    clock.measure(iter(notes))
    spent = measure_by_looking_back(notes, entries)
    assert {(one.volume, one.leaf): one.seconds for one in clock.iter_times()} == spent
    summed = sum_up_time([clock])
    assert summed.leaves == len(spent)
    assert [one.seconds for one in summed.longest] == sorted(spent.values(), reverse=True)


findings = st.lists(
    st.builds(
        lambda number, severity, accepted: OpenFinding(
            finding=Finding(
                code="c", severity=severity, message=f"{number}", remedy="", accepted=accepted
            )
        ),
        st.integers(0, 999),
        st.sampled_from(Severity),
        st.sampled_from([None, None, None, None, "seen"]),
    ),
    max_size=150,
)


@given(logs=st.lists(findings, max_size=3))
def test_the_gravest_findings_are_those_of_all_logs_put_in_order(
    logs: list[list[OpenFinding]],
) -> None:
    """Errors before warnings, each kind in the order of the logs, as many as a report shows."""
    found = add_findings(map(sum_up_findings, logs))
    every = [one for log in logs for one in log]
    are_open = [one for one in every if one.finding.is_open]
    in_order = sorted(are_open, key=lambda one: one.finding.severity is Severity.WARNING)
    assert list(found.gravest) == in_order[:LONGEST_LIST]
    assert found.open == len(are_open)
    assert found.errors == sum(one.finding.severity is Severity.ERROR for one in are_open)
    assert found.accepted == sum(one.finding.accepted is not None for one in every)


def test_a_restricted_entry_outside_the_period_is_not_described_either(tmp_path: Path) -> None:
    """The closing check is of the whole log, and so is what it may say."""
    secret = replace(
        TICKET,
        id="secret",
        action=("discarded",),
        item_type=("report card",),
        access=Access.RESTRICTED,
        status=Status.QUERIED,
        recorded_at="2031-05-01T09:00:00+01:00",
    )
    now = replace(TICKET, recorded_at="2031-05-12T09:00:00+01:00")
    folder = make_log(tmp_path / "log", VOLUME, secret, now)
    material = gather_report([folder], read_settings(), Period(first=date(2031, 5, 12)))
    page = "".join(iter_page(make_document(material)))
    assert material.figures.totals.items == 1
    assert material.findings is not None
    assert "secret" in {one.finding.entry for one in material.findings.gravest}
    assert "report card" not in page
    assert "It is about an entry with restricted access." in page
