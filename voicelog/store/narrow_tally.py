"""What each filter would leave of a list that holds few entries, counted in one pass."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from typing import Any

from voicelog.domain.entry import Status
from voicelog.store.selection import Selection

TALLIED = "status, doubts, cautions, handler, substr(recorded_at, 1, 10) AS day"
"""What has to be known of a row of ``entries``."""

_FILTERS = ("status", "doubted_field", "caution", "handler", "day")


def without_filters(selection: Selection) -> Selection:
    """Return a selection as it is before any of the filters that are tallied is set."""
    return replace(selection, status=None, doubted_field=None, caution=None, handler=None, day=None)


def tally_narrow(
    rows: Iterable[Mapping[str, Any]], selection: Selection
) -> Mapping[str, Counter[str]]:
    """Return how many rows have each value of each filter, as if that filter were not set.

    Args:
        rows: of the selection without its filters, void ones too; see :data:`TALLIED`.
        selection: the filters that are set. Void entries count only among the statuses, unless
            they are asked for.
    """
    counts: dict[str, Counter[str]] = {name: Counter() for name in _FILTERS}
    for row in rows:
        values = _values_of(row)
        outside = [name for name in _FILTERS if not _is_inside(values[name], name, selection)]
        # A row that one filter alone keeps out counts for that one only.
        for name in _FILTERS if not outside else outside if len(outside) == 1 else ():
            counts[name].update(values[name])
    return counts


def _values_of(row: Mapping[str, Any]) -> Mapping[str, Collection[str]]:
    return {
        "status": (row["status"],),
        "doubted_field": _fields_in(row["doubts"]),
        "caution": frozenset(json.loads(row["cautions"])) if row["cautions"] != "[]" else (),
        "handler": () if row["handler"] is None else (row["handler"],),
        "day": () if row["day"] is None else (row["day"],),
    }


def _fields_in(doubts: str) -> Collection[str]:
    if doubts == "[]":
        return ()
    fields = {doubt.get("field") for doubt in json.loads(doubts)}
    return fields - {None}


def _is_inside(values: Collection[str], name: str, selection: Selection) -> bool:
    wanted = getattr(selection, name)
    if wanted is None:
        return name != "status" or Status.VOID not in values
    return wanted in values
