"""How long pages, filters and searches of a log take that is there already.

    python -m tests.benchmarks.scale.lists LOG

The log is one of those of ``growth``, which makes them in a passing folder; with
``large_log.make_large_log`` one is made that stays. Nothing is written to it.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from tests.benchmarks.scale.growth import measure, show
from voicelog.review.pages.wanted import Wanted
from voicelog.store.log import Log
from voicelog.store.selection import Order

LAST = 1_000_000
"""A page beyond the last; the last is shown."""

LISTS: dict[str, dict[str, object]] = {
    "filter: queried": {"status": "queried"},
    "filter: a doubt": {"doubt": "date"},
    "filter: a doubt, its last page": {"doubt": "date", "page": LAST},
    "filter: a caution": {"caution": "mould"},
    "doubtful first": {"order": Order.DOUBTFUL_FIRST},
    "find: words of every tenth": {"words": "postcard weir"},
    "the last page of the whole log": {"page": LAST},
}


def main() -> None:
    """Do each thing many times."""
    folder = Path(sys.argv[1])
    with Log.open(folder) as log:
        entries = log.count_entries()
    load = ", ".join(f"{one:.0f}" for one in os.getloadavg())
    print(f"{entries:,} entries; load {load} on {os.cpu_count()} cores")
    for what, filters in LISTS.items():
        wanted = Wanted.model_validate(filters)
        took = measure(what, entries, lambda wanted=wanted: show(folder, wanted))
        print(f"  {what:32} 95 %: clock {took.clock_p95:7.1f} ms, "
              f"processor {took.processor_p95:6.1f} ms", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
