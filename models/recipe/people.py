"""Recordings of people: which of them train, tune and judge, and what they say.

    python -m models.recipe.people SPEECH OUT

SPEECH is a folder with ``an4/`` (the AN4 database, Carnegie Mellon University: flac/,
transcription.txt, pronunciations.txt) and ``orders/`` (the speech-to-intent benchmark,
Apache-2.0: flac/, heard.tsv). Speakers of AN4 are held out whole; the orders don't say who
speaks, so of them every fifth recording is held out. Writes the training recordings as
Opus, and ``people.jsonl`` about them, into OUT.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from models.recipe.lexicon import make_lexicon
from voicelog.adapting.lexicon import Lexicon, words_in

_LINE = re.compile(r"(?:<s>)?\s*(.*?)\s*(?:</s>)?\s*\(([^)]+)\)")
_EVERY = 6


class Part(StrEnum):
    """What a recording may be used for."""

    TRAINING = "training"
    TUNING = "tuning"
    HELD_OUT = "held out"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """One recording of a person.

    Attributes:
        path: the sound file.
        text: what is said, in lower case.
        part: what it may be used for.
    """

    path: Path
    text: str
    part: Part


def iter_an4(folder: Path) -> Iterator[Recording]:
    """Yield the recordings of AN4; its speakers are split, in alphabetical order."""
    lines = (folder / "transcription.txt").read_text("utf-8").splitlines()
    found = [match.groups() for line in lines if (match := _LINE.match(line))]
    speakers = sorted({name.split("-")[1] for _, name in found})
    parts = {
        speaker: {0: Part.HELD_OUT, 3: Part.TUNING}.get(number % _EVERY, Part.TRAINING)
        for number, speaker in enumerate(speakers)
    }
    for text, name in found:
        path = folder / "flac" / f"{name}.flac"
        if text and path.exists():
            yield Recording(path=path, text=text.lower(), part=parts[name.split("-")[1]])


def iter_orders(folder: Path) -> Iterator[Recording]:
    """Yield the recordings of orders that have a transcript."""
    for number, line in enumerate((folder / "heard.tsv").read_text("utf-8").splitlines()):
        name, text = line.split("\t")
        path = folder / "flac" / f"{name}.flac"
        if path.exists():
            part = Part.HELD_OUT if number % 5 == 0 else Part.TRAINING
            yield Recording(path=path, text=" ".join(words_in(text)), part=part)


def read_an4_pronunciations(folder: Path) -> Lexicon:
    """Return AN4's own dictionary."""
    lexicon: Lexicon = {}
    for line in (folder / "pronunciations.txt").read_text("utf-8").splitlines():
        word, *phones = line.split()
        word = re.sub(r"\(\d+\)$", "", word).lower()
        lexicon[word] = (*lexicon.get(word, ()), tuple(phones))
    # Its "a" is always the letter.
    lexicon["a"] = (("EY",),)
    return lexicon


def main() -> None:
    """Write what trains the model."""
    speech, out = Path(sys.argv[1]), Path(sys.argv[2])
    (out / "people").mkdir(parents=True, exist_ok=True)
    spelled = read_an4_pronunciations(speech / "an4")
    orders = list(iter_orders(speech / "orders"))
    said = make_lexicon(word for order in orders for word in order.text.split())
    sources = [(one, spelled) for one in iter_an4(speech / "an4")]
    sources += [(one, said) for one in orders]
    with (out / "people.jsonl").open("w", encoding="utf-8") as stream:
        for recording, lexicon in sources:
            words = recording.text.split()
            if recording.part is not Part.TRAINING or not all(word in lexicon for word in words):
                continue
            target = out / "people" / f"{recording.path.stem}.opus"
            subprocess.run(
                ["opusenc", "--quiet", "--bitrate", "24", str(recording.path), str(target)],
                check=True,
            )
            phones = [lexicon[word] for word in words]
            line = {"path": f"people/{target.name}", "text": recording.text, "phones": phones}
            stream.write(json.dumps(line) + "\n")


if __name__ == "__main__":
    main()
