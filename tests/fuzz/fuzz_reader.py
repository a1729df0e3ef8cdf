"""Feed arbitrary text to the reader and the logbook.

    pip install atheris
    python -m tests.fuzz.fuzz_reader -max_total_time=600

No text may raise an exception, and every span must lie inside its note. The input is cut
into notes at line ends; a dictionary of trade words keeps the fuzzer on interesting ground.
"""

from __future__ import annotations

import random
import sys

import atheris  # type: ignore[import-untyped]

with atheris.instrument_imports(include=["voicelog.extraction"]):
    from voicelog.domain.note import Note
    from voicelog.extraction.logbook import Logbook
    from voicelog.extraction.options import ReadingOptions
    from voicelog.extraction.reader import Reader
    from voicelog.vocabulary import load_vocabulary

VOCABULARY = load_vocabulary()
READER = Reader(VOCABULARY, ReadingOptions())
BENCH_TALK = (
    "accession volume leaf page recto verso next leaf turn over correction strike that no sorry "
    "caption reads end caption remark both all the a another one the same but in behind it one "
    "two fourteen twenty thirty oh double dash point and to by half inch june fourth circa 1952 "
    "2031-007 goes in envelope seven blank both sides , . - pause log resume log not"
)
WORDS = [
    *(form for concept in VOCABULARY.concepts for form in concept.forms()),
    *BENCH_TALK.split(),
]


def spoken(data: bytes) -> str:
    """Return the bytes as words: most bytes pick a word, some are letters of any script."""
    chooser = random.Random(data)
    parts = []
    for byte in data[:400]:
        if byte < 200:
            parts.append(WORDS[(byte * 31 + chooser.randrange(len(WORDS))) % len(WORDS)])
        elif byte < 215:
            parts.append("\n")
        else:
            parts.append(chr(byte) + chr(chooser.randrange(1, 0x2FFF)))
    return " ".join(parts)


def check(text: str) -> None:
    """Read the text as notes, and look at what came out."""
    logbook = Logbook(READER)
    for number, line in enumerate(text.splitlines(), start=1):
        note = Note(number=number, uid=f"n{number}", text=line)
        for entry in logbook.take(note):
            for origin in entry.sources.values():
                for span in origin if isinstance(origin, tuple) else ():
                    if span.note == number:
                        inside = 0 <= span.first <= span.last <= len(line)
                        if not inside or line[span.first : span.last] != span.text:
                            raise AssertionError(f"span {span} lies outside {line!r}")
    logbook.entries()


def test_one_input(data: bytes) -> None:
    """Try the bytes as text and as a choice of words."""
    check(data.decode("utf-8", errors="replace"))
    check(spoken(data))


if __name__ == "__main__":
    atheris.Setup(sys.argv, test_one_input)
    atheris.Fuzz()
