"""How often ordinary English is "put right" into a trade word.

    apt-get install bible-kjv && bible -f gen1:1-rev22:21 > kjv.txt
    python -m tests.benchmarks.reader.false_repairs kjv.txt [--sentences 5000]

Every sentence of the text is read as a note. It holds no trade talk, so every repair by
sound is false. The King James text is in the public domain (Debian package
bible-kjv-text); any other text file does.
"""

from __future__ import annotations

import argparse
import random
import re
from pathlib import Path

from voicelog.domain.note import Note
from voicelog.domain.statement import Statement
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene
from voicelog.vocabulary import load_vocabulary


def main() -> None:
    """Count and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("text", type=Path)
    parser.add_argument("--sentences", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=2031)
    given = parser.parse_args()
    whole = given.text.read_text(encoding="utf-8", errors="replace")
    lines = re.split(r"(?<=[.!?;:])\s+", re.sub(r"(?m)^\S+:\d+\s+", "", whole))
    sentences = [" ".join(line.split()) for line in lines if len(line.split()) > 2]
    random.Random(given.seed).shuffle(sentences)
    chosen = sentences[: given.sentences]
    reader = Reader(load_vocabulary(), ReadingOptions())
    surroundings = Surroundings(scene=Scene(has_leaf=True))
    repaired: list[str] = []
    for number, text in enumerate(chosen, start=1):
        note = Note(number=number, uid=str(number), text=text, engine="whisper")
        found = [_repair_of(one) for one in reader.read(note, surroundings).statements]
        repaired += [f"{text!r}: {doubt}" for doubt in found if doubt]
    words = sum(len(text.split()) for text in chosen)
    print(f"{len(repaired)} false repairs in {len(chosen)} sentences, {words} words")
    print(f"{1000 * len(repaired) / max(1, words):.2f} in a thousand words")
    print("\n".join(repaired[:20]))


def _repair_of(statement: Statement) -> str | None:
    return next((one for one in statement.doubts if one.endswith("by its sound")), None)


if __name__ == "__main__":
    main()
