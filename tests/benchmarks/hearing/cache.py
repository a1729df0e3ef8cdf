"""What was spoken and what was heard, kept in a folder so that neither need be done twice.

``sound/VOICE/CLIP.flac`` holds synthesised speech, ``encoded/`` what whisper makes of a sound
whatever words it is told to expect, ``heard/*.jsonl`` one line for each clip
that an engine heard. A line has ``set``, ``voice``, ``condition``, ``clip`` (the note or
recording), ``engine``, ``model``, ``biasing``, ``text``, ``words`` (each with ``word``,
``start``, ``end``, ``confidence``; seconds from the beginning of the clip),
``alternatives``, ``seconds`` (how long the clip is), ``took_s`` (how long the engine worked
on it, less where the sound was encoded already) and ``cpu_s`` (processor time). A file holds
the lines of one cell.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from voicelog.domain.note import Note, Word
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Heard, Samples


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Cell:
    """One cell of the table.

    Attributes:
        set_name: which clips: "tuning", "held_back", "an4", "orders".
        voice: who says them.
        condition: what happened to the sound on its way.
        engine: who listens.
        biasing: which words the engine was told to expect.
    """

    set_name: str
    voice: str
    condition: str
    engine: str
    biasing: str

    @property
    def file_name(self) -> str:
        """The file that its lines are in."""
        parts = (self.set_name, self.voice, self.condition, self.engine, self.biasing)
        return ".".join(re.sub(r"[^\w+-]+", "_", part) for part in parts) + ".jsonl"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardClip:
    """One clip as an engine heard it.

    Attributes:
        cell: set, voice, condition, engine, biasing.
        clip: which note or recording.
        model: name and version of the model.
        heard: words and other readings, in seconds from the beginning of the clip.
        seconds: length of the clip.
        took_s: how long the engine worked on it.
        cpu_s: how much processor time it took.
    """

    cell: Cell
    clip: str
    model: str
    heard: Heard
    seconds: float
    took_s: float
    cpu_s: float

    def as_note(self, number: int) -> Note:
        """Return it as a note of a log, for a reader."""
        return Note(
            number=number,
            uid=f"note-{number}",
            text=self.heard.text,
            words=self.heard.words,
            engine=self.cell.engine,
            model=self.model,
            alternatives=self.heard.alternatives,
        )


class HearingCache:
    """The folder.

    Args:
        folder: made where it is not there.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._sound = folder / "sound"
        self._heard = folder / "heard"
        self._heard.mkdir(parents=True, exist_ok=True)

    def sound(self, voice: str, clip: str, speak: Callable[[], Samples]) -> Samples:
        """Return a clip in a voice, spoken now where it never was before."""
        path = self._sound / voice / f"{clip}.flac"
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            unfinished = path.with_suffix(".unfinished")
            soundfile.write(unfinished, speak(), SAMPLE_RATE_HZ, "PCM_16", format="FLAC")
            unfinished.rename(path)
        sound, _ = soundfile.read(path, dtype="float32")
        samples: Samples = np.asarray(sound)
        return samples

    def heard(self, cell: Cell) -> dict[str, HeardClip]:
        """Return what was heard in a cell so far, by clip."""
        path = self._heard / cell.file_name
        if not path.exists():
            return {}
        lines = path.read_text("utf-8").splitlines()
        return {one.clip: one for one in map(_read_line, lines)}

    def cells(self) -> Iterator[Cell]:
        """Yield the cells of which anything was heard."""
        for path in sorted(self._heard.glob("*.jsonl")):
            with path.open(encoding="utf-8") as stream:
                line = stream.readline()
            if line:
                yield _read_line(line).cell

    def add(self, one: HeardClip) -> None:
        """Keep what was heard."""
        with (self._heard / one.cell.file_name).open("a", encoding="utf-8") as stream:
            stream.write(_write_line(one) + "\n")

    def replace(self, cell: Cell, clips: Iterable[HeardClip]) -> None:
        """Keep these clips of a cell and no others."""
        (self._heard / cell.file_name).unlink(missing_ok=True)
        for one in clips:
            self.add(one)


def _write_line(one: HeardClip) -> str:
    cell = asdict(one.cell)
    line = {
        "set": cell.pop("set_name"),
        **cell,
        "clip": one.clip,
        "model": one.model,
        "text": one.heard.text,
        "words": [
            {
                "word": word.text,
                "start": word.start_s,
                "end": word.end_s,
                "confidence": word.confidence,
            }
            for word in one.heard.words
        ],
        "alternatives": list(one.heard.alternatives),
        "seconds": round(one.seconds, 3),
        "took_s": round(one.took_s, 3),
        "cpu_s": round(one.cpu_s, 3),
    }
    return json.dumps(line, ensure_ascii=False)


def _read_line(text: str) -> HeardClip:
    line: dict[str, Any] = json.loads(text)
    return HeardClip(
        cell=Cell(
            set_name=line["set"],
            voice=line["voice"],
            condition=line["condition"],
            engine=line["engine"],
            biasing=line["biasing"],
        ),
        clip=line["clip"],
        model=line["model"],
        heard=Heard(
            words=tuple(
                Word(
                    text=word["word"],
                    start_s=word["start"],
                    end_s=word["end"],
                    confidence=word["confidence"],
                )
                for word in line["words"]
            ),
            text=line["text"],
            alternatives=tuple(line["alternatives"]),
        ),
        seconds=line["seconds"],
        took_s=line["took_s"],
        cpu_s=line["cpu_s"],
    )
