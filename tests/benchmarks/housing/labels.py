"""How long 5,000 labels take, and how much memory.

    python tests/benchmarks/housing/labels.py [COUNT]

The labels are made up (the green book, captions of 40 to 200 letters); the sheet is a4-3x7.
"""

from __future__ import annotations

import resource
import sys
import time
import uuid

from voicelog.housing.paper.label_sheets import print_labels
from voicelog.housing.paper.labels import NEVER_ON_THE_ITEM, Label
from voicelog.housing.paper.layouts import find_layout, load_layouts
from voicelog.vocabulary import load_vocabulary
from voicelog.vocabulary.loading import load_closing


def make_labels(count: int) -> list[Label]:
    """Return so many labels."""
    words = "Lamplighters' picnic at the Quillhaven weir, rain or shine, with an egg race "
    return [
        Label(
            code=str(uuid.uuid5(uuid.NAMESPACE_OID, str(number))),
            heading=f"envelope {number}",
            mark=f"2031-007 vol. 1, {number // 8 + 1}r, {number % 8 + 1}",
            volume="2031-007 · volume 1, the green book",
            place=f"leaf {number // 8 + 1} recto, item {number % 8 + 1}",
            what="black-and-white photograph, 1952-06-04",
            caption=(words * 3)[: 40 + number % 160],
            cautions=("mould",) if number % 10 == 0 else (),
            note=NEVER_ON_THE_ITEM,
            entries=(number,),
        )
        for number in range(count)
    ]


def main() -> None:
    """Print the labels and say what it took."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    labels = make_labels(count)
    vocabulary, closing = load_vocabulary(), load_closing()
    before_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    began_s, worked_s = time.monotonic(), time.process_time()
    sheets = print_labels(
        labels, find_layout(load_layouts(), "a4-3x7"), vocabulary, closing=closing
    )
    took_s, worked_s = time.monotonic() - began_s, time.process_time() - worked_s
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{count} labels on {sheets.pages} sheets, {len(sheets.shortened)} of them shortened: "
        f"{took_s:.1f} s ({worked_s:.1f} s of processor time), peak memory {peak_mb:.0f} MB "
        f"({before_mb:.0f} MB before), file {len(sheets.pdf) / 1e6:.1f} MB"
    )


if __name__ == "__main__":
    main()
