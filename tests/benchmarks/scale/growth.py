"""How a log's size tells on opening, paging, filtering, searching and taking notes.

    python -m tests.benchmarks.scale.growth [--streams] [--out RESULTS.jsonl] [ENTRIES...]

Makes a log of each size (1,000, 10,000, 100,000 and 1,000,000 unless told otherwise), does each
thing 40 times, and prints median and 95th percentile: by the clock, and of the processor, which
other work on the machine touches less. With ``--streams`` the check, the report, the table and
some exports are run by the command itself, once each, with their time and the most memory that
they held.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from tests.benchmarks.scale.large_log import FACTS, MADE_BY, accession_of, make_large_log
from tests.benchmarks.weighed import weigh
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.review.pages.volume_list import list_volumes
from voicelog.review.pages.wanted import Wanted
from voicelog.review.pages.work_pages import find_page, is_wide
from voicelog.session.scribe import Scribe, Utterance
from voicelog.store.log import Log
from voicelog.store.selection import Order
from voicelog.store.worklist import WorkListLog
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import load_vocabulary

TIMES = 40
SIZES = (1_000, 10_000, 100_000, 1_000_000)
STREAMS = {
    "check": ("check", "--json"),
    "report": ("report", "--out", "{out}/report.html"),
    "report as PDF": ("report", "--out", "{out}/report.pdf"),
    "show": ("show",),
    "export csv": ("export", "csv", "--out", "{out}/log.csv"),
    "export ead3": ("export", "ead3", "--out", "{out}/log.xml"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What one thing took, in milliseconds."""

    what: str
    entries: int
    clock_median: float
    clock_p95: float
    processor_median: float
    processor_p95: float


def measure(what: str, entries: int, act: Callable[[], object]) -> Measured:
    """Do something many times."""
    act()
    clock, processor = [], []
    for _ in range(TIMES):
        began, worked = time.perf_counter(), time.process_time()
        act()
        clock.append(1000 * (time.perf_counter() - began))
        processor.append(1000 * (time.process_time() - worked))
    at = int(TIMES * 0.95) - 1
    return Measured(
        what=what,
        entries=entries,
        clock_median=median(clock),
        clock_p95=sorted(clock)[at],
        processor_median=median(processor),
        processor_p95=sorted(processor)[at],
    )


def show(folder: Path, wanted: Wanted) -> None:
    """Ask a log for everything that a page of the review shows."""
    with WorkListLog.open(folder) as log:
        selection = wanted.select()
        log.tally_some(selection) if is_wide(log, selection) else log.tally(selection)
        page = find_page(log, wanted)
        stored = log.read_entries([placed.id for placed in page.entries])
        log.read_notes({number for one in stored for number in one.entry.notes})
        log.waiting_in_sample([one.entry.id for one in stored])
        if page.entries:
            list_volumes(log, page.entries[0].volume)
            log.sides(page.entries[0].volume)


def measure_all(folder: Path, entries: int, reader: Reader) -> Iterator[Measured]:
    """Yield what each thing takes in the log of a size."""
    chance = random.Random(5)

    def open_to_read() -> None:
        with Log.open(folder):
            pass

    def open_to_write() -> None:
        with WritableLog.open_to_write(folder, made_by=MADE_BY, facts=FACTS) as log:
            scribe = Scribe(log, Logbook(reader))
            assert scribe.catch_up(reason="read again").notes == 0
            scribe.take_down(Utterance(text="a ticket, loose"))

    def any_page() -> None:
        show(folder, Wanted(page=chance.randrange(1, max(2, entries // 40))))

    def any_volume() -> None:
        volume = chance.randrange(max(1, entries // 200))
        show(folder, Wanted(accession=accession_of(volume), volume=str(volume + 1)))

    def any_entry() -> None:
        with Log.open(folder) as log:
            number = chance.randrange(entries)
            assert number % 200 == 0 or log.find_entry(f"entry-{number + 1}") is not None

    def find(words: Callable[[], str]) -> Callable[[], None]:
        return lambda: show(folder, Wanted(words=words()))

    def filtered(**filters: object) -> Callable[[], None]:
        return lambda: show(folder, Wanted.model_validate(filters))

    yield measure("open to read", entries, open_to_read)
    yield measure("open to write, and take a note", entries, open_to_write)
    yield measure("an entry and its number", entries, any_entry)
    yield measure("any page of the whole log", entries, any_page)
    yield measure("any volume", entries, any_volume)
    yield measure("filter: queried", entries, filtered(status="queried"))
    yield measure("filter: a doubt", entries, filtered(doubt="date"))
    yield measure("filter: a caution", entries, filtered(caution="mould"))
    yield measure("filter: a handler", entries, filtered(handler="Hazel"))
    both = filtered(handler="Hazel", status="heard")
    yield measure("filter: a handler and heard", entries, both)
    yield measure("doubtful first", entries, filtered(order=Order.DOUBTFUL_FIRST))
    rare = find(lambda: f"Ida number {chance.randrange(entries)}")
    yield measure("find: words of one entry", entries, rare)
    yield measure("find: words of every tenth", entries, find(lambda: "postcard weir"))
    yield measure("find: words side by side", entries, find(lambda: '"Zofie at the mill"'))

    with WritableLog.open_to_write(folder, made_by=MADE_BY, facts=FACTS) as log:
        scribe = Scribe(log, Logbook(reader))
        scribe.catch_up(reason="read again")
        yield measure(
            "take one more note", entries, lambda: scribe.take_down(Utterance(text="a menu, torn"))
        )


def stream(folder: Path, what: str, out: Path) -> dict[str, object]:
    """Run a command on a whole log and return its time and the most memory it held."""
    command, *rest = STREAMS[what]
    found = weigh([command, *(one.format(out=out) for one in rest), "--log", str(folder)])
    return {
        "what": what,
        "ended_with": found.status,
        "clock_s": round(found.took_s, 1),
        "processor_s": round(found.processor_s, 1),
        "most_mib": round(found.most_kib / 1024),
    }


def main() -> None:
    """Make the logs and measure."""
    parser = argparse.ArgumentParser()
    parser.add_argument("sizes", nargs="*", type=int, default=list(SIZES))
    parser.add_argument("--streams", action="store_true")
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    reader = Reader(load_vocabulary(), ReadingOptions())
    results: list[dict[str, object]] = []
    for entries in asked.sizes or SIZES:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / "log"
            upgraded_s = make_large_log(folder, entries, reader)
            size_mb = (folder / "log.sqlite").stat().st_size / 1e6
            load = ", ".join(f"{one:.0f}" for one in os.getloadavg())
            print(f"{entries:,} entries, {size_mb:,.0f} MB, brought up to date in "
                  f"{upgraded_s:.0f} s; load {load} on {os.cpu_count()} cores")  # fmt: skip
            for one in measure_all(folder, entries, reader):
                print(f"  {one.what:32} clock {one.clock_median:7.1f} ms, 95 % "
                      f"{one.clock_p95:7.1f}; processor {one.processor_median:6.1f}, 95 % "
                      f"{one.processor_p95:6.1f}", flush=True)  # fmt: skip
                results.append({name: getattr(one, name) for name in Measured.__slots__})
            for what in STREAMS if asked.streams else ():
                took = {**stream(folder, what, Path(name)), "entries": entries}
                print(f"  {took}", flush=True)
                results.append(took)
    if asked.out:
        lines = "".join(f"{json.dumps(one)}\n" for one in results)
        asked.out.write_text(lines, encoding="utf-8")


if __name__ == "__main__":
    main()
