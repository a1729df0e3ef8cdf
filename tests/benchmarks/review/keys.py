"""How many keys a day's review takes: ``python -m tests.benchmarks.review.keys [ENTRIES]``.

Makes a log (200 entries unless told otherwise: 12 % doubtful, 6 % with a wrong field), opens it in
Chromium and reviews it as a practised person would, to the last row. Prints the keys for each kind
of row, and the time they take at two keys a second with four seconds to look at each doubtful row.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.review.pages.day import Reviewing, make_day
from tests.review.pages.site import serving
from tests.review.pages.window import LAPTOP, running_chromium, window_on
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

_KEYS_A_SECOND = 2
_LOOKING_S = 4


def main() -> None:
    """Review one day."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    reader = Reader(load_vocabulary(), ReadingOptions())
    with tempfile.TemporaryDirectory() as folder:
        day = make_day(Path(folder) / "log", reader, rows=rows)
        wrong = sum(bool(slip.field) for slip in day.slips.values())
        print(f"{day.rows} entries, {len(day.slips)} doubtful, {wrong} of them wrong")
        with running_chromium() as chromium:
            width, height = LAPTOP
            context = chromium.new_context(viewport={"width": width, "height": height})
            with serving(day.folder, reader) as site, window_on(site, context) as window:
                count = Reviewing(window, day).review()
                pressed = window.keys
    print(count.told())
    minutes = (pressed / _KEYS_A_SECOND + len(day.slips) * _LOOKING_S) / 60
    print(
        f"{pressed} keys in all; at {_KEYS_A_SECOND} keys a second and {_LOOKING_S} s to look at "
        f"each doubtful row: {minutes:.1f} minutes"
    )


if __name__ == "__main__":
    main()
