"""Setting one field of an entry, with everything that follows from it by rule."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from voicelog.domain.entry import Adhesion, Entry, Kind
from voicelog.domain.note import Span
from voicelog.domain.statement import SetValue, Subject
from voicelog.extraction.dates.edtf import keep_year

if TYPE_CHECKING:
    from voicelog.extraction.logbook.application import Application

LIST_FIELDS = frozenset({"item_type", "attachment", "condition", "action", "images"})
_PLAIN_NAMES = {
    "date": "date",
    "dimensions": "size",
    "position": "position",
    "binding": "binding",
    "support": "support",
    "overlay": "overlay",
    "leaves": "number of leaves",
}


def set_value(work: Application, said: SetValue) -> None:
    """Give a value to the entries it is said of."""
    for entry in work.targets(said.target, field=said.field):
        changed = _set(work, entry, said)
        changed = work.doubt(changed, said.doubts, said.field)
        _follow(work, changed, said)


def _set(work: Application, entry: Entry, said: SetValue) -> Entry:
    is_restated = said.replaces and (entry.id, said.field) not in work.restated
    if is_restated:
        work.restated.add((entry.id, said.field))
        entry = work.clear_doubts(entry, said.field)
    if said.field in LIST_FIELDS:
        added = said.value if isinstance(said.value, tuple) else (said.value,)
        kept: tuple[Any, ...] = () if is_restated else getattr(entry, said.field)
        new = tuple(dict.fromkeys((*kept, *added)))
        return work.change(entry, said.spans, **{said.field: new})
    value = Adhesion(said.value) if said.field == "adhesion" else said.value
    before = getattr(entry, said.field)
    spans = said.spans
    if is_restated and said.field == "date" and before is not None:
        value = keep_year(said.value, before)
        if value != said.value:
            spans = (*_words_behind(entry, "date"), *spans)
    changed = work.change(entry, spans, **{said.field: value})
    if before not in {None, value} and not said.replaces and said.field in _PLAIN_NAMES:
        name = _PLAIN_NAMES[said.field]
        doubt = f"two values were said for the {name}: {_show(before)}, then {_show(value)}"
        return work.doubt(changed, (doubt,), said.field)
    return changed


def _words_behind(entry: Entry, field: str) -> tuple[Span, ...]:
    """Return the words that a value was taken from; none where nobody said it."""
    origin = entry.sources.get(field)
    return origin if isinstance(origin, tuple) else ()


def _show(value: Any) -> str:
    if isinstance(value, tuple):
        return " x ".join(str(one) for one in value) + " mm"
    return str(value)


def _follow(work: Application, entry: Entry, said: SetValue) -> None:
    """Apply what a value implies: an enclosure was used, a mark was written."""
    if said.field == "enclosure":
        is_boxed = entry.kind is Kind.VOLUME and str(said.value).startswith("box")
        action = "boxed" if is_boxed else "enclosed"
        entry = work.register.get(entry.id)
        if action not in entry.action:
            entry = work.change(entry, said.spans, action=(*entry.action, action))
    entry = work.register.get(entry.id)
    if {"detached", "left in place"} <= set(entry.action):
        clash = "it is said both to have come away and to be left in place"
        work.doubt(entry, (clash,), "action")
        entry = work.register.get(entry.id)
    if said.field in {"action", "enclosure"} and {"detached", "enclosed", "inscribed"} & set(
        entry.action
    ):
        work.write_mark(entry)
    if said.target.subject is Subject.VOLUME:
        work.context = replace(work.context, latest=entry.id)
