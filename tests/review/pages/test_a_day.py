"""The measure of the whole: how many keys a day's review takes."""

from __future__ import annotations

from pathlib import Path
from statistics import median

from playwright.sync_api import BrowserContext

from tests.review.pages.day import Reviewing, make_day
from tests.review.pages.site import serving
from tests.review.pages.window import window_on
from voicelog.domain.entry import Status
from voicelog.extraction.reader import Reader
from voicelog.store.log import Log


def test_a_day_is_reviewed_with_few_keys(
    tmp_path: Path, reader: Reader, context: BrowserContext
) -> None:
    """At most 2 keys a right row in bulk and 8 a wrong field; what was doubted is right then.

    Here with 40 entries; tests/benchmarks/review/keys.py does it with 200.
    """
    day = make_day(tmp_path / "log", reader, rows=40)
    with serving(day.folder, reader) as site, window_on(site, context) as window:
        count = Reviewing(window, day).review()
    assert median(count.bulk) <= 2
    assert median(count.mended) <= 8
    assert len(count.bulk) + len(count.looked_at) + len(count.mended) == day.rows
    with Log.open(day.folder) as log:
        entries = {entry.id: entry for _, entry in log.iter_entries()}
    assert {entry.status for entry in entries.values()} == {Status.CONFIRMED}
    for id_, slip in day.slips.items():
        if slip.field:
            value = getattr(entries[id_], slip.field)
            assert slip.meant in (value if isinstance(value, tuple) else (value,))
