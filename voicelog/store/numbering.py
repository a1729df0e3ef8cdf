"""Display numbers of entries, worked out without counting through the whole log."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from itertools import accumulate
from typing import Any

from sqlite_utils import Database

from voicelog.domain.entry import Status
from voicelog.store.order_schema import PLACES_IN_A_VOLUME_BITS


class Numbering:
    """Numbers entries in display order, from 1, void ones behind the others.

    It knows the log as it was when it was made: make one for every page.
    """

    def __init__(self, database: Database) -> None:
        self._database = database
        counts = database.execute(
            "SELECT birth, heard + queried + confirmed, void FROM volume_counts ORDER BY birth"
        ).fetchall()
        self._births: list[int] = [birth for birth, _, _ in counts]
        self._shown_before: list[int] = [0, *accumulate(shown for _, shown, _ in counts)]
        self._void_before: list[int] = [0, *accumulate(void for _, _, void in counts)]

    @property
    def shown(self) -> int:
        """How many entries there are, void ones left out."""
        return self._shown_before[-1]

    def number(self, row: Mapping[str, Any]) -> int:
        """Return the number of the entry that a row of ``entries`` holds."""
        volume = bisect_left(self._births, row["rank"] >> PLACES_IN_A_VOLUME_BITS)
        is_void = row["status"] == Status.VOID
        (before,) = self._database.execute(
            "SELECT count(*) FROM entries WHERE accession IS ? AND volume IS ? "
            "AND (status = 'void') = ? AND rank < ?",
            [row["accession"], row["volume"], is_void, row["rank"]],
        ).fetchone()
        if is_void:
            return self.shown + self._void_before[volume] + int(before) + 1
        return self._shown_before[volume] + int(before) + 1
