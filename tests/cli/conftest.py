"""A way to run commands, and a log that was written without any recogniser."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from voicelog.cli import run
from voicelog.domain.entry import Access, Adhesion, Doubt, Entry, Kind, Side, Status
from voicelog.domain.note import Note, Span, Word
from voicelog.store.writing import Understanding, WritableLog


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What a command left: exit status, standard output, standard error."""

    status: int
    out: str
    err: str


Voicelog = Callable[..., Result]


@pytest.fixture
def voicelog(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Voicelog:
    """Run a command in this process, in an empty folder, as wide as asked."""
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)

    def call(*arguments: object, stdin: bytes = b"", columns: int = 80) -> Result:
        monkeypatch.setenv("COLUMNS", str(columns))
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        capsys.readouterr()
        status = run([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return Result(status=status, out=out, err=err)

    return call


def entry(number: int, **fields: object) -> Entry:
    base: dict[str, object] = {
        "id": f"e-{number}",
        "kind": Kind.ITEM,
        "accession": "2031-007",
        "volume": "1",
        "volume_name": "the green book",
        "leaf": "14",
        "side": Side.RECTO,
        "item": number,
        "notes": (number,),
    }
    return Entry(**{**base, **fields})  # type: ignore[arg-type]


ENTRIES = (
    entry(
        1,
        kind=Kind.VOLUME,
        leaf=None,
        side=None,
        item=None,
        binding="post binding",
        support="black paper",
        leaves=24,
        dimensions=(285.8, 355.6),
        action=("boxed",),
        enclosure="box 1",
    ),
    entry(2, kind=Kind.LEAF, leaf="front cover", side=None, item=None, condition=("soiled",)),
    entry(3, kind=Kind.LEAF, leaf="9", side=None, item=None, blank=True),
    entry(
        4,
        item=1,
        item_type=("newspaper clipping",),
        attachment=("cellophane tape", "adhesive, unidentified"),
        adhesion=Adhesion.PARTLY_LOOSE,
        condition=("yellowed", "brittle", "split at fold"),
        action=("left in place", "imaged"),
        caption="Lamplighters' picnic at the Quillhaven weir, rain or shine",
        date="1952-06-04",
        images=(27, 28),
        status=Status.QUERIED,
        doubts=(Doubt(message="“fore” fits nothing.", field="remark"),),
        sources={"item_type": (Span(note=4, text="clipping", first=0, last=8),), "leaf": "context"},
    ),
    entry(
        5,
        item=2,
        item_type=("colour photograph",),
        quantity=2,
        caption="\x1b[31mred\x07 \u202eevil",
        access=Access.RESTRICTED,
    ),
    entry(6, item=3, item_type=("ticket",), status=Status.VOID),
)


@pytest.fixture
def filled_log(tmp_path: Path) -> Path:
    """A log of the green book with one of everything that a table has to show."""
    folder = tmp_path / "filled"
    with WritableLog.open_to_write(folder, made_by="voicelog test") as log:
        for nth, each in enumerate(ENTRIES, start=1):
            note = Note(
                number=nth,
                uid=f"n-{nth}",
                text=f"note number {nth}",
                words=(Word(text="note", start_s=0.5, end_s=0.9, confidence=0.8),)
                if nth == 1
                else (),
                engine="whisper" if nth == 1 else "typed",
                model="tiny.en" if nth == 1 else "",
                start_s=0.5 if nth == 1 else None,
                end_s=2.0 if nth == 1 else None,
            )
            log.add_note(
                note,
                Understanding(
                    changed=(each,),
                    order=tuple(one.id for one in ENTRIES[:nth]),
                    struck=frozenset({6}) if nth == 6 else frozenset(),
                ),
            )
    return folder
