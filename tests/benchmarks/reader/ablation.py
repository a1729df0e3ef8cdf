"""What each part of the reader is worth: slot F1 with the part left out.

    python -m tests.benchmarks.reader.ablation [--set tuning|held_back]

Without sound repair: heard words are never compared by sound with the vocabulary.
Without context: every note is read as if nothing had been said before it.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from tests.gold.score import HERE, Score, read_notes, read_session, rows_of, score
from voicelog.domain.entry import Entry
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary


def without_context(notes: Iterable[str], reader: Reader) -> tuple[Entry, ...]:
    """Return the entries that each note gives on its own."""
    return tuple(entry for note in notes for entry in read_notes([note], reader))


def main() -> None:
    """Score the variants and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--set", default="tuning", choices=["tuning", "held_back"])
    chosen: str = parser.parse_args().set
    vocabulary = load_vocabulary()
    whole = Reader(vocabulary, ReadingOptions())
    variants = {
        "whole reader": (whole, read_notes),
        "without sound repair": (
            Reader(vocabulary, ReadingOptions(repair_mishearings=False)),
            read_notes,
        ),
        "without context": (whole, without_context),
    }
    for name, (reader, read) in variants.items():
        total = Score()
        for path in sorted((HERE / chosen).glob("*.gold")):
            session = read_session(path)
            total.add(score(session.rows, rows_of(read(session.notes, reader))))
        precision, recall, f1 = total.figures()
        print(f"{name:22} precision {precision:.4f}  recall {recall:.4f}  F1 {f1:.4f}")


if __name__ == "__main__":
    main()
