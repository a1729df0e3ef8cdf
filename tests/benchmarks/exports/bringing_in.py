"""How long a bag takes to be made, checked and brought in, and a report to be written.

    python -m tests.benchmarks.exports.bringing_in [ENTRIES]

Two logs of one volume with so many items each (default 5,000), every fourth side logged at both
benches. No recordings: copying sound takes as long as the disk takes.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.exports.logs import make_log
from tests.session.bringing_in.benches import VOCABULARY, Bench
from voicelog.domain.entry import Entry, Kind, Side, Status
from voicelog.exports.report.document import make_document
from voicelog.exports.report.material import Period
from voicelog.exports.report.writing import write_report
from voicelog.session.bringing_in.bag_folder import open_bag
from voicelog.session.bringing_in.bringing import BroughtIn, bring_in
from voicelog.session.bringing_in.guest_log import read_guest
from voicelog.settings import read_settings
from voicelog.store.writing import WritableLog
from voicelog.wiring.handing_over import gather_report

ITEMS_A_SIDE = 3
TYPES = ("postcard", "ticket", "newspaper clipping", "snapshot", "menu", "letter")


def main(size: int) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        here, there = Bench(Path(folder) / "here"), Bench(Path(folder) / "there")
        leaves = size // (2 * ITEMS_A_SIDE) + 1
        make_log(here.folder, *_entries("a", size, first_leaf=1))
        make_log(there.folder, *_entries("b", size, first_leaf=1 + leaves * 3 // 4))
        bag = Path(folder) / "bag"
        with _timed(f"a bag of {size} entries is made"):
            there.pack(bag)
        with _timed("it is checked and brought in"):
            brought = _take_in(bag, here.folder)
        print(f"    {brought.entries} new entries, {len(brought.conflicts)} conflicts")
        with _timed("the same bag is brought in again"):
            _take_in(bag, here.folder)
        for suffix in (".html", ".pdf"):
            with _timed(f"a report on {len(here.entries())} entries as {suffix}"):
                material = gather_report([here.folder], read_settings(), Period())
                write_report(make_document(material), Path(folder) / f"report{suffix}")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(f"{peak_mb:8.0f} MB at most")


def _take_in(bag: Path, folder: Path) -> BroughtIn:
    """Bring in a bag; the notes of the log are not read again before, as the command does."""
    with open_bag(bag) as opened:
        guest = read_guest(opened)
        with WritableLog.open_to_write(folder, made_by="voicelog benchmark") as log:
            return bring_in(guest, log, VOCABULARY, source=bag.name)


def _entries(prefix: str, size: int, *, first_leaf: int) -> Iterator[Entry]:
    yield Entry(
        id=f"{prefix}-volume", kind=Kind.VOLUME, accession="2031-007", volume="1", volume_name=None
    )
    for nth in range(size):
        side, item = divmod(nth, ITEMS_A_SIDE)
        leaf, verso = divmod(side, 2)
        yield Entry(
            id=f"{prefix}-{nth}",
            kind=Kind.ITEM,
            accession="2031-007",
            volume="1",
            leaf=str(first_leaf + leaf),
            side=Side.VERSO if verso else Side.RECTO,
            item=item + 1,
            item_type=(TYPES[nth % len(TYPES)],),
            condition=("yellowed",) if nth % 3 else (),
            status=Status.HEARD,
        )


@contextmanager
def _timed(what: str) -> Iterator[None]:
    wall, processor = time.perf_counter(), time.process_time()
    yield
    wall, processor = time.perf_counter() - wall, time.process_time() - processor
    print(f"{wall:8.1f} s ({processor:.1f} s of the processor): {what}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5_000)
