"""What reviewers decided, taken in where it came between the notes."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from voicelog.domain.act import Act, ActKind, Decision, decide
from voicelog.domain.context import Context
from voicelog.domain.entry import Entry, Status
from voicelog.extraction.logbook.register import Register

Finish = Callable[[Entry], Entry]
"""Puts an entry into the register with everything that follows from its values."""


class Decisions:
    """Applies acts of review to the entries of a logbook.

    Attributes:
        as_read: confirmed entries as the notes alone gave them when they were confirmed.
    """

    def __init__(self, register: Register, finish: Finish) -> None:
        self.as_read: dict[str, Entry] = {}
        self._register = register
        self._finish = finish
        self._stored: dict[str, Entry] = {}
        self._before: dict[int, dict[str, Entry | None]] = {}

    def recall(self, stored: Iterable[Entry]) -> None:
        """Learn the entries that the log holds."""
        self._stored = {entry.id: entry for entry in stored}

    def take(self, act: Act, context: Context) -> Context:
        """Apply an act and return the running context after it."""
        if act.undoes is not None:
            self._take_back(act)
            return context
        before: dict[str, Entry | None] = {}
        for decision in act.decisions:
            now = self._register.find(decision.entry)
            before[decision.entry] = now
            settled = self._settle(act, decision, now)
            if settled is not None:
                context = _follow(context, settled, decision)
        self._before[act.number] = before
        return _follow_alike(context, act)

    def follow(self, act: Act, context: Context) -> Context:
        """Return the running context after an act whose entries are there as it left them."""
        if act.undoes is not None:
            return context
        for decision in act.decisions:
            entry = decision.made or self._register.find(decision.entry)
            if entry is not None:
                # As this act left it; a later one may have changed it again.
                left = Status.HEARD if decision.made is None else decision.made.status
                status = decision.values.get("status", left)
                context = _follow(context, replace(entry, status=status), decision)
        return _follow_alike(context, act)

    def _settle(self, act: Act, decision: Decision, now: Entry | None) -> Entry | None:
        stored = self._stored.get(decision.entry)
        # Where the notes no longer give an entry that was reviewed, it stays as it is stored.
        base = decision.made or now or stored
        if base is None:
            return None
        is_confirmed = decision.values.get("status") is Status.CONFIRMED
        if is_confirmed and stored is not None and stored.status is Status.CONFIRMED:
            if now is not None:
                self.as_read[decision.entry] = now
            base = replace(stored, doubts=())
        elif decision.made is None:
            base = decide(base, decision, by=act.by, at=act.at)
        self._register.put(base)
        return self._finish(base)

    def _take_back(self, act: Act) -> None:
        """Put back what an act changed; what it made becomes void."""
        undone = self._before.get(act.undoes or 0, {})
        made_void = {one.entry: one for one in act.decisions if one.values}
        for id_, before in undone.items():
            now = self._register.find(id_)
            if now is None:
                continue
            if before is not None:
                self._register.put(before)
                self.as_read.pop(id_, None)
            elif id_ in made_void:
                self._register.put(decide(now, made_void[id_], by=act.by, at=act.at))


def _follow(context: Context, entry: Entry, decision: Decision) -> Context:
    """Return the context after a decision about an entry that it speaks of."""
    if entry.status is Status.VOID:
        return replace(
            context,
            latest=None if context.latest == entry.id else context.latest,
            latest_item=None if context.latest_item == entry.id else context.latest_item,
            together=tuple(one for one in context.together if one != entry.id),
        )
    if entry.id == context.volume and "accession" in decision.values:
        return replace(context, accession=decision.values["accession"], accession_doubts=())
    return context


def _follow_alike(context: Context, act: Act) -> Context:
    """Return the context after a carried value was corrected in all entries that have it."""
    if act.kind is not ActKind.SET_ALIKE:
        return context
    field, was, now = (act.details.get(name) for name in ("field", "was", "now"))
    if field == "accession" and context.accession == was:
        return replace(context, accession=now)
    if field == "leaf" and context.leaf == was:
        return replace(context, leaf=now)
    return context
