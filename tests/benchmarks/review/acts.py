"""How fast an act of review answers: ``python -m tests.benchmarks.review.acts [ENTRIES]``.

Begins a log of invented entries in a temporary folder (20 volumes), and has a reviewer set
values, confirm, move, split, add and undo in it, each act at an entry chosen at random. Prints
the median and the 95th percentile of each kind, from the call to the answer with everything on
the disk, and the median of the processor time in it.
"""

from __future__ import annotations

import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from voicelog.domain.act import Seen
from voicelog.domain.entry import FROM_CONTEXT, Entry, Kind, Side
from voicelog.domain.note import Note, Span
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.review.reviewer import Reviewer
from voicelog.store.log import Log
from voicelog.store.writing import Understanding, WritableLog
from voicelog.vocabulary import load_vocabulary

VOLUMES = 20
ON_A_SIDE = 4
TIMES = 60


def make_entries(count: int) -> list[Entry]:
    """Return invented entries: volumes, and items on their leaves."""
    carried = dict.fromkeys(("accession", "volume", "leaf", "side"), FROM_CONTEXT)
    entries: list[Entry] = []
    for nth in range(count):
        volume, place = divmod(nth, count // VOLUMES)
        if place == 0:
            entries.append(
                Entry(
                    id=f"volume-{volume}",
                    kind=Kind.VOLUME,
                    accession="2031-007",
                    volume=str(volume + 1),
                    notes=(1,),
                )
            )
            continue
        side, item = divmod(place - 1, ON_A_SIDE)
        said = (Span(note=1, text="postcard", first=0, last=8, confidence=0.9),)
        entries.append(
            Entry(
                id=f"item-{nth}",
                kind=Kind.ITEM,
                accession="2031-007",
                volume=str(volume + 1),
                leaf=str(side // 2 + 1),
                side=Side.VERSO if side % 2 else Side.RECTO,
                item=item + 1,
                item_type=("postcard",),
                condition=("yellowed",),
                caption="the lamplighters at the weir",
                notes=(1,),
                sources={**carried, "item_type": said, "condition": said, "caption": said},
            )
        )
    return entries


def make_log(folder: Path, count: int) -> list[str]:
    """Begin a log with that many entries and return the ids of its items."""
    entries = make_entries(count)
    with WritableLog.open_to_write(folder, made_by="benchmark") as log:
        note = Note(number=1, uid="n-1", text="postcard")
        order = tuple(entry.id for entry in entries)
        log.add_note(note, Understanding(changed=tuple(entries), order=order, struck=frozenset()))
    return [entry.id for entry in entries if entry.kind is Kind.ITEM]


def measure(what: str, act: Callable[[Seen], object], pick: Callable[[], Seen]) -> None:
    """Do an act many times and print how long it took."""
    took_ms: list[float] = []
    worked_ms: list[float] = []
    for _ in range(TIMES):
        seen = pick()
        begun, worked = time.perf_counter(), time.process_time()
        act(seen)
        took_ms.append((time.perf_counter() - begun) * 1000)
        worked_ms.append((time.process_time() - worked) * 1000)
    slow = sorted(took_ms)[int(len(took_ms) * 0.95)]
    print(
        f"{what:<24} median {statistics.median(took_ms):6.1f} ms   95 % {slow:6.1f} ms   "
        f"processor {statistics.median(worked_ms):5.1f} ms"
    )


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    chance = random.Random(7)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "log"
        ids = make_log(folder, count)
        reader = Reader(load_vocabulary(), ReadingOptions())
        reviewer = Reviewer(folder, reader, by="Ida Marsh", made_by="benchmark")
        chance.shuffle(ids)

        def pick() -> Seen:
            return reviewer.read(ids.pop()).seen

        load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
        print(f"{count} entries; {TIMES} acts of each kind; load {load} on {os.cpu_count()} cores")
        with Log.open(folder):  # As the pages have it open for reading.
            measure("set a caption", lambda seen: reviewer.set_value(seen, "caption", "x"), pick)
            measure(
                "set a condition (mould)",
                lambda seen: reviewer.set_value(seen, "condition", "mould; tear"),
                pick,
            )
            measure("set a date", lambda seen: reviewer.set_value(seen, "date", "about 1960"), pick)
            measure("confirm one", lambda seen: reviewer.confirm([seen]), pick)
            measure("undo", lambda _seen: reviewer.undo(), pick)
            measure("void", reviewer.void, pick)
            measure("move to another leaf", lambda seen: reviewer.move(seen, "9 verso"), pick)
            measure("split", lambda seen: reviewer.split(seen, {"item_type": "menu"}), pick)
            measure("add", lambda seen: reviewer.add("a ticket", beside=seen.entry), pick)
        begun = time.perf_counter()
        done = reviewer.confirm_undoubted("2031-007", "3")
        took_s = time.perf_counter() - begun
        print(f"confirm {len(done.changed)} undoubted of a volume: {took_s:.1f} s")


if __name__ == "__main__":
    main()
