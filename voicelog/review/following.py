"""What follows by rule from a value that was typed: an action, a mark, a place in the order."""

from __future__ import annotations

from typing import Any

from voicelog.domain.entry import Entry, Kind
from voicelog.errors import ValueRefused
from voicelog.review.acting import Acting

_TO_BE_MARKED = frozenset({"detached", "enclosed", "inscribed"})


def with_consequences(act: Acting, entry: Entry, field: str, value: Any) -> dict[str, Any]:
    """Return the values that one typed value brings with it, itself included.

    An enclosure was used, so the item is enclosed (a volume is boxed); what came away carries
    a mark. A mark that was given once stays.

    Raises:
        ValueRefused: the mark is written on the object already, or on another one.
    """
    values: dict[str, Any] = {field: value}
    if field == "mark":
        _check_mark(act, entry, value)
    if field == "enclosure" and value is not None:
        is_boxed = entry.kind is Kind.VOLUME and str(value).startswith("box")
        action = "boxed" if is_boxed else "enclosed"
        if action not in entry.action:
            values["action"] = (*entry.action, action)
    actions = values.get("action", entry.action)
    is_touched = field in {"action", "enclosure"}
    if (
        is_touched
        and entry.kind is Kind.ITEM
        and entry.mark is None
        and not _TO_BE_MARKED.isdisjoint(actions)
    ):
        mark = act.free_mark(entry)
        if mark is not None:
            values["mark"] = mark
    return values


def _check_mark(act: Acting, entry: Entry, mark: str | None) -> None:
    if entry.mark is not None and "inscribed" in entry.action and mark != entry.mark:
        raise ValueRefused(
            f"{entry.mark!r} is written on the object, and what is written on it never changes; "
            "if it was never written, take 'inscribed' from the actions first.",
            field="mark",
            typed=mark or "",
        )
    if mark is not None and any(one != entry.id for one in act.log.find_marked(mark)):
        raise ValueRefused(
            f"Another object carries the mark {mark!r} already; give each its own.",
            field="mark",
            typed=mark,
        )
