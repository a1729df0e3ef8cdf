"""A log of many entries, made without reading any note."""

from __future__ import annotations

from pathlib import Path

from voicelog.domain.entry import Doubt, Entry, Kind, Side, Status
from voicelog.domain.note import Note, Span
from voicelog.store.writing import Understanding, WritableLog

LEAVES_IN_A_VOLUME = 60
ROWS_ON_A_SIDE = 5
ROWS_OF_A_NOTE = 25


def make_large_log(folder: Path, entries: int) -> None:
    """Fill a log: volumes of 60 leaves, five items on each side, every tenth queried."""
    made = [_make_entry(number) for number in range(entries)]
    nothing = Understanding(changed=(), order=(), struck=frozenset())
    with WritableLog.open_to_write(folder, made_by="voicelog test", facts={"reading": {}}) as log:
        for number in range(1, entries // ROWS_OF_A_NOTE + 2):
            text = "a newspaper clipping, cellophane tape, yellowed"
            log.add_note(Note(number=number, uid=f"note-{number}", text=text), nothing)
        log.write_understanding(
            Understanding(
                changed=tuple(made),
                order=tuple(entry.id for entry in made),
                struck=frozenset(),
            ),
            reason="made for a test",
        )


def _make_entry(number: int) -> Entry:
    side, item = divmod(number, ROWS_ON_A_SIDE)
    volume, page = divmod(side, 2 * LEAVES_IN_A_VOLUME)
    note = number // ROWS_OF_A_NOTE + 1
    is_queried = number % 10 == 9
    return Entry(
        id=f"entry-{number}",
        kind=Kind.ITEM,
        accession="2031-007",
        volume=str(volume + 1),
        leaf=str(page // 2 + 1),
        side=Side.VERSO if page % 2 else Side.RECTO,
        item=item + 1,
        item_type=("newspaper clipping",),
        attachment=("cellophane tape",),
        condition=("yellowed",),
        status=Status.QUERIED if is_queried else Status.HEARD,
        doubts=(Doubt(message="heard unclearly: 'yellowed'", field="condition"),) * is_queried,
        handler="Hazel Wren" if volume % 2 else "Ida Marsh",
        recorded_at=f"2031-05-{volume % 28 + 1:02d}T09:40:00+01:00",
        notes=(note,),
        sources={
            "item_type": (Span(note=note, text="newspaper clipping", first=2, last=20),),
            "attachment": (Span(note=note, text="cellophane tape", first=22, last=37),),
            "condition": (Span(note=note, text="yellowed", first=39, last=47),),
            "leaf": "context",
        },
    )
