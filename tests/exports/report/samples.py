"""A small volume, counted by hand in the tests, and the report on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from voicelog.checks.volumes import group_volumes
from voicelog.domain.entry import Access, Adhesion, Doubt, Entry, Kind, Side, Status
from voicelog.domain.error_rate import ErrorRate
from voicelog.domain.finding import Finding
from voicelog.exports.report.figures import CountedLog, count_figures
from voicelog.exports.report.material import (
    Material,
    NamedLog,
    mark_restricted,
    sum_up_findings,
)
from voicelog.store.log import Corrections
from voicelog.store.note_log import NoteTime
from voicelog.store.recording import Recording

VOLUME = Entry(
    id="volume",
    kind=Kind.VOLUME,
    accession="2031-007",
    volume="1",
    volume_name="the green book",
    leaves=3,
    status=Status.CONFIRMED,
    notes=(1,),
)
TICKET = replace(
    VOLUME,
    id="ticket",
    kind=Kind.ITEM,
    leaf="1",
    side=Side.RECTO,
    item=1,
    item_type=("ticket",),
    attachment=("photo corners",),
    adhesion=Adhesion.LOOSE,
    condition=("yellowed", "tear"),
    action=("detached", "enclosed"),
    enclosure="envelope 7",
    leaves=None,
    notes=(2,),
)
POSTCARDS = replace(
    TICKET,
    id="postcards",
    item=2,
    item_type=("postcard",),
    quantity=3,
    adhesion=None,
    condition=("yellowed",),
    action=(),
    enclosure=None,
    status=Status.QUERIED,
    doubts=(Doubt(message="heard unclearly: 'postcards'", field="item_type"),),
    notes=(3,),
)
BLANK = replace(VOLUME, id="blank", kind=Kind.LEAF, leaf="2", blank=True, leaves=None, notes=(4,))
REPORT_CARD = replace(
    POSTCARDS,
    id="card",
    leaf="3",
    item=1,
    item_type=("report card",),
    quantity=1,
    caption="a name that nobody outside may read",
    status=Status.HEARD,
    doubts=(),
    access=Access.RESTRICTED,
    notes=(5,),
)
ENTRIES = (VOLUME, TICKET, POSTCARDS, BLANK, REPORT_CARD)


NO_SAMPLE = ErrorRate(judged=0, wrong=0, waiting=0)


def spoken(number: int, start_s: float, end_s: float, *, recording: str = "day.flac") -> NoteTime:
    return NoteTime(number=number, recording=recording, start_s=start_s, end_s=end_s)


NOTES = (
    spoken(1, 0, 5),
    spoken(2, 10, 14),
    spoken(3, 20, 26),
    spoken(4, 50, 52),
    spoken(5, 60, 66),
)
DAY = Recording(
    file="day.flac",
    uid="r",
    original_name="day.flac",
    sha256="0" * 64,
    size_bytes=1,
    taken_at="2031-05-12T17:00:00+01:00",
    duration_s=66.0,
)


def counted_log(*entries: Entry, error_rate: ErrorRate = NO_SAMPLE) -> CountedLog:
    return CountedLog(
        volumes=group_volumes(entries or ENTRIES),
        notes=tuple(replace(note, struck=note.number == 4) for note in NOTES),
        recordings=(DAY,),
        corrections=Corrections(by_people=(("caption", 2), ("item_type", 1)), by_reading=4),
        error_rate=error_rate,
    )


def material(
    *entries: Entry,
    error_rate: ErrorRate = NO_SAMPLE,
    repository: str = "Tarn Valley Record Office",
    findings: Iterable[Finding] | None = None,
) -> Material:
    (volume,) = group_volumes(ENTRIES)
    return Material(
        logs=(NamedLog(name="green-book", as_of="2031-05-12T16:00:00Z"),),
        figures=count_figures([counted_log(*entries, error_rate=error_rate)]),
        repository=repository,
        findings=None if findings is None else sum_up_findings(mark_restricted(volume, findings)),
    )
