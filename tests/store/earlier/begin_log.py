"""Begins a log with whichever voicelog is imported, and has it reviewed as far as that can be.

``make_logs.py`` runs it with the code of earlier versions, so it asks before it uses anything
that one of them lacks.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from voicelog.cli import run
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import load_vocabulary

NOTES = """\
accession 2031-007
volume one, the green book, post binding, black paper
leaf two, a postcard, photo corners, yellowed
caption reads the lamplighters at the weir
a ticket
strike that
a newspaper clipping, cellophane tape, brittle
next leaf, blank
leaf four recto, two snapshots, paste, secure
turn over
a telegram, dated June fourth nineteen fifty two, it came off
goes in envelope seven
"""
LATER = "next leaf, a menu, a blorf\n"
SOUND = b"the sound of the morning"


def main(folder: Path) -> None:
    """Dictate, have it reviewed, and dictate on."""
    typed = folder.parent / "notes.txt"
    typed.write_text(NOTES)
    run(["parse", str(typed), "--log", str(folder)])
    with WritableLog.open_to_write(folder, made_by="voicelog") as log:
        (folder / "audio" / "morning.wav").write_bytes(SOUND)
        log.add_recording(
            Recording(
                file="morning.wav",
                uid="6a1c",
                original_name="Morning.wav",
                sha256=hashlib.sha256(SOUND).hexdigest(),
                size_bytes=len(SOUND),
                taken_at="2031-05-02T09:00:00+01:00",
                duration_s=60.0,
            )
        )
    review(folder)
    typed.write_text(LATER)
    run(["parse", str(typed), "--log", str(folder)])


def review(folder: Path) -> None:
    """Do what this version's reviewer can do; the first versions had none."""
    try:
        from voicelog.review.reviewer import Reviewer  # noqa: PLC0415
    except ImportError:
        return
    reader = Reader(load_vocabulary(), ReadingOptions())
    reviewer: Any = Reviewer(folder, reader, by="Ida Marsh", made_by="voicelog")

    def see(item_type: str) -> Any:
        with Log.open(folder) as log:
            return next(one.seen for one in log.iter_stored() if item_type in one.entry.item_type)

    reviewer.set_value(see("postcard"), "caption", "the lamps at the weir")
    reviewer.confirm([see("postcard")])
    reviewer.void(see("newspaper clipping"))
    further: tuple[tuple[str, Callable[[], Any]], ...] = (
        ("move", lambda: reviewer.move(see("snapshot"), "leaf nine verso")),
        ("split", lambda: reviewer.split(see("snapshot"), {"quantity": "1"})),
        ("sampling", lambda: reviewer.sampling.draw(percent=50.0)),
        ("learning", lambda: teach(reviewer)),
        ("redacting", lambda: redact(reviewer)),
    )
    for name, act in further:
        if hasattr(reviewer, name):
            act()


def teach(reviewer: Any) -> None:
    """Teach what "blorf" is."""
    from voicelog.domain.lesson import Lesson  # noqa: PLC0415

    lesson = Lesson(heard="blorf", meant="badge", field="item_type", from_note=1, examples=())
    reviewer.learning.learn(lesson)


def redact(reviewer: Any) -> None:
    """Take a word out."""
    reviewer.redacting.redact(reviewer.redacting.find("lamplighters"), reason="a name")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
