"""How fast the pages answer on a large log: ``python -m tests.benchmarks.review.pages [ENTRIES]``.

Makes a log (10,000 entries unless told otherwise) and measures in Chromium how long a page takes
until it can be used (navigation start to the end of its scripts), and over HTTP how long a saved
edit takes to be answered. Prints medians and the slowest.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median

from tests.review.pages.large_log import make_large_log
from tests.review.pages.site import Browser, serving
from tests.review.pages.window import LAPTOP, Window, running_chromium, window_on
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.store.log import Log
from voicelog.vocabulary import load_vocabulary

_TIMES = 20
_PAGES = {
    "the whole log": "/work",
    "one volume": "/work?accession=2031-007&volume=3",
    "doubtful first": "/work?order=doubtful",
    "a filter": "/work?doubt=condition&handler=Ida+Marsh",
}


def main() -> None:
    """Measure once."""
    entries = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    reader = Reader(load_vocabulary(), ReadingOptions())
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "log"
        make_large_log(folder, entries)
        print(f"{entries} entries")
        with serving(folder, reader) as site:
            with running_chromium() as chromium:
                width, height = LAPTOP
                context = chromium.new_context(viewport={"width": width, "height": height})
                with window_on(site, context) as window:
                    cookies = context.cookies()
                    for name, path in _PAGES.items():
                        _tell(f"{name}, until it can be used", _time_page(window, path))
            browser = Browser(site, f"{cookies[0]['name']}={cookies[0]['value']}")
            _tell("a saved edit", _time_edits(browser))


def _time_page(window: Window, path: str) -> list[float]:
    times = []
    for _ in range(_TIMES):
        window.open(path)
        window.page.wait_for_selector(".row:focus-within")
        times.append(
            window.page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd")
        )
    return times


def _time_edits(browser: Browser) -> list[float]:
    return list(_iter_edits(browser))


def _iter_edits(browser: Browser) -> Iterator[float]:
    with Log.open(browser.site.folder) as log:
        for nth in range(3 * _TIMES):
            stored = log.find_entry(f"entry-{nth * 100}")
            assert stored is not None
            form = {"seen": stored.version, "field": "caption", "typed": f"picnic {nth}"}
            began_s = time.perf_counter()
            answer = browser.post(f"/entries/{stored.entry.id}/set", **form)
            assert answer.status == 303
            yield 1000 * (time.perf_counter() - began_s)


def _tell(name: str, times_ms: list[float]) -> None:
    print(f"{name:<40} median {median(times_ms):6.0f} ms, slowest {max(times_ms):6.0f} ms")


if __name__ == "__main__":
    main()
