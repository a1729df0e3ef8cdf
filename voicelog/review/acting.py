"""One act of review on its way: what it is based on, what it decides, and its recording."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, NoReturn

from voicelog.domain.act import Act, ActKind, Decision, Seen, decide
from voicelog.domain.entry import Doubt, Entry, Kind, Status
from voicelog.domain.lesson import Lesson
from voicelog.domain.mark import find_free_mark
from voicelog.domain.plain_values import plain_value
from voicelog.errors import EntryChanged, EntryLocked, ReviewError
from voicelog.extraction.doubting.unclear import DEFAULT_QUERY_BELOW
from voicelog.extraction.logbook.finishing import cautions_of, finish
from voicelog.store.act_rows import Change
from voicelog.store.entry_log import StoredEntry
from voicelog.store.reviewed_log import Signature
from voicelog.store.writing import WritableLog, now_text
from voicelog.vocabulary import Vocabulary

_CautionKey = tuple[str | None, str | None, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """An act that is in the log now.

    Attributes:
        act: its number.
        kind: what was done.
        changed: the entries it changed, with their new versions.
        remarks: what the person should know about it, in plain words.
        offers: what the correction could teach; for :meth:`Learning.learn`.
    """

    act: int
    kind: ActKind
    changed: tuple[Seen, ...]
    remarks: tuple[str, ...] = ()
    offers: tuple[Lesson, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Author:
    """Who acts.

    Attributes:
        by: the reviewer's name.
        session: the session within which acts can be taken back.
    """

    by: str
    session: str


class Acting:
    """One act: made for it, and forgotten when it is recorded.

    Everything is read from the log that is open for writing, so nothing can change between
    looking and recording.
    """

    def __init__(
        self,
        log: WritableLog,
        vocabulary: Vocabulary,
        author: Author,
        *,
        query_below: float = DEFAULT_QUERY_BELOW,
    ) -> None:
        self.log = log
        self.at = now_text()
        self.author = author
        self._vocabulary = vocabulary
        self._query_below = query_below
        self._changes: dict[str, Change] = {}
        self._now: dict[str, StoredEntry] = {}
        self._shown: dict[_CautionKey, set[str]] = {}
        self._signatures: dict[tuple[str | None, str | None], Signature | None] = {}

    def look_up(self, seen: Seen, *, wanted: Mapping[str, Any] | None = None) -> Entry:
        """Return the entry that a person saw, if it still is what they saw.

        Args:
            seen: the entry and the version on the person's screen.
            wanted: the values that the act would give it, for whoever has to choose.

        Raises:
            ReviewError: there is no such entry.
            EntryChanged: somebody changed it meanwhile.
        """
        stored = self._stored(seen.entry)
        if stored.version != seen.version:
            self.refuse_stale(seen.entry, wanted)
        return stored.entry

    def refuse_stale(self, id_: str, wanted: Mapping[str, Any] | None = None) -> NoReturn:
        """Refuse the act because somebody changed an entry.

        Args:
            id_: the entry.
            wanted: the values that the act would have given it.

        Raises:
            EntryChanged: always.
        """
        stored = self._stored(id_)
        by = self.log.last_author(id_)
        wanted = wanted or {}
        raise EntryChanged(
            f"{name_entry(stored.entry)} was changed by {by or 'somebody'} after you saw it; "
            "look at both values, then decide again.",
            entry=id_,
            version=stored.version,
            by=by,
            wanted={name: plain_value(value) for name, value in wanted.items()},
            present={name: plain_value(getattr(stored.entry, name)) for name in wanted},
        )

    def get(self, id_: str) -> Entry:
        """Return an entry as it is now, this act's changes included.

        Raises:
            ReviewError: there is no such entry.
        """
        return self._stored(id_).entry

    def require_open(self, entry: Entry) -> None:
        """Make sure that an entry may be changed.

        Raises:
            EntryLocked: it is confirmed.
            ReviewError: it is void.
        """
        if entry.status is Status.CONFIRMED:
            raise EntryLocked(
                f"{name_entry(entry)} is confirmed; open it again before changing it.",
                entry=entry.id,
            )
        if entry.status is Status.VOID:
            raise ReviewError(f"{name_entry(entry)} is void; restore it before changing it.")

    def require_unsigned(
        self, accession: str | None, volume: str | None, *, entry: str = ""
    ) -> None:
        """Make sure that a volume is not signed off.

        Raises:
            EntryLocked: it is.
        """
        key = (accession, volume)
        if key not in self._signatures:
            self._signatures[key] = self.log.find_signature(accession, volume)
        signature = self._signatures[key]
        if signature is not None:
            raise EntryLocked(
                f"{name_volume(accession, volume)} was signed off by {signature.by} on "
                f"{signature.at[:10]}; unlock it before changing anything in it.",
                entry=entry,
                is_signed_off=True,
            )

    def free_mark(self, entry: Entry) -> str | None:
        """Return the mark for an item that no other object carries."""
        return find_free_mark(
            entry,
            beyond=self.last_item_number(entry),
            is_taken=lambda mark: any(one != entry.id for one in self.log.find_marked(mark)),
        )

    def last_item_number(self, place: Entry) -> int:
        """Return the highest order on the side that an entry is on."""
        return self.log.last_item_number(place.accession, place.volume, place.leaf, place.side)

    def side(self, place: Entry) -> list[Entry]:
        """Return the items of the side that an entry is on, in their order."""
        stored = self.log.iter_side(place.accession, place.volume, place.leaf, place.side)
        items = [self.get(one.entry.id) for one in list(stored) if one.entry.kind is Kind.ITEM]
        return sorted(items, key=lambda item: item.item or 0)

    def decide(
        self, entry: Entry, values: Mapping[str, Any], *, adds: tuple[Doubt, ...] = ()
    ) -> Entry:
        """Decide values of an entry and return it as it will be."""
        decision = Decision(entry=entry.id, values=MappingProxyType(dict(values)), adds=adds)
        decided = decide(entry, decision, by=self.author.by, at=self.at)
        return self._put(decision, before=entry, after=decided)

    def make(self, entry: Entry) -> Entry:
        """Make a new entry and return it as it will be."""
        finished = self._finish(entry)
        return self._put(
            Decision(entry=entry.id, made=finished), before=None, after=finished, is_finished=True
        )

    def make_void(self, entry: Entry) -> None:
        """Put an entry on record that a reading gives and that is not to be: void."""
        decision = Decision(entry=entry.id, values=MappingProxyType({"status": Status.VOID}))
        void = decide(entry, decision, by=self.author.by, at=self.at)
        self._put(Decision(entry=entry.id, made=void), before=None, after=void, is_finished=True)

    def put_back(self, before: Entry, after: Entry) -> None:
        """Put an entry back as it was before another act."""
        self._put(Decision(entry=after.id), before=before, after=after, is_finished=True)

    def record(
        self,
        kind: ActKind,
        *,
        details: Mapping[str, Any] | None = None,
        undoes: int | None = None,
        remarks: tuple[str, ...] = (),
    ) -> Done:
        """Store the act with all its changes."""
        self._hand_cautions_on()
        act = Act(
            kind=kind,
            by=self.author.by,
            at=self.at,
            session=self.author.session,
            decisions=tuple(change.decision for change in self._changes.values()),
            undoes=undoes,
            details=MappingProxyType(dict(details or {})),
        )
        number, versions = self.log.record_act(act, tuple(self._changes.values()))
        return Done(
            act=number,
            kind=kind,
            changed=tuple(
                Seen(entry=change.after.id, version=version)
                for change, version in zip(self._changes.values(), versions, strict=True)
            ),
            remarks=remarks,
        )

    def _hand_cautions_on(self) -> None:
        """Show a caution on the next entry that calls for it, where one no longer shows it."""
        for change in tuple(self._changes.values()):
            before, after = change.before, change.after
            if before is None or before.status is Status.VOID:
                continue
            is_there = after.status is not Status.VOID and _volume_of(after) == _volume_of(before)
            for caution in before.cautions:
                if is_there and caution in after.cautions:
                    continue
                heir = self._find_heir(caution, before)
                if heir is not None:
                    # Nothing is decided of it; what follows from its values is worked out anew.
                    self._put(Decision(entry=heir.id), before=heir, after=heir)

    def _find_heir(self, caution: str, former: Entry) -> Entry | None:
        for stored in list(self.log.iter_of_volume(*_volume_of(former))):
            entry = self.get(stored.entry.id)
            is_open = entry.status not in {Status.VOID, Status.CONFIRMED}
            if not is_open or entry.id == former.id or _volume_of(entry) != _volume_of(former):
                continue
            if caution in cautions_of(entry, self._vocabulary):
                return None if self._is_shown(caution, beside=entry) else entry
        return None

    def _stored(self, id_: str) -> StoredEntry:
        stored = self._now.get(id_) or self.log.find_entry(id_)
        if stored is None:
            raise ReviewError(f"There is no entry {id_} in the log; load the page again.")
        self._now[id_] = stored
        return stored

    def _put(
        self, decision: Decision, *, before: Entry | None, after: Entry, is_finished: bool = False
    ) -> Entry:
        for volume in {_volume_of(after), _volume_of(before or after)}:
            self.require_unsigned(*volume, entry=after.id)
        finished = after if is_finished else self._finish(after)
        self._changes[after.id] = self._combine(
            Change(decision=decision, before=before, after=finished)
        )
        version = self._now[after.id].version if after.id in self._now else 0
        self._now[after.id] = StoredEntry(number=0, version=version, entry=finished)
        for caution in finished.cautions:
            key = (finished.accession, finished.volume, caution)
            self._shown.setdefault(key, set()).add(finished.id)
        return finished

    def _combine(self, change: Change) -> Change:
        """Return a change together with what this act has changed in the entry already."""
        earlier = self._changes.get(change.after.id)
        if earlier is None:
            return change
        first, then = earlier.decision, change.decision
        decision = Decision(
            entry=first.entry,
            values=MappingProxyType({**first.values, **then.values}),
            adds=(*first.adds, *then.adds),
            made=None if first.made is None else change.after,
        )
        return Change(decision=decision, before=earlier.before, after=change.after)

    def _finish(self, entry: Entry) -> Entry:
        shown = tuple(
            caution
            for caution in cautions_of(entry, self._vocabulary)
            if not self._is_shown(caution, beside=entry)
        )
        return finish(entry, self._vocabulary, shown, query_below=self._query_below)

    def _is_shown(self, caution: str, *, beside: Entry) -> bool:
        """Whether another entry of the volume shows a caution, this act's changes included."""
        key = (beside.accession, beside.volume, caution)
        for id_ in (*self.log.showing_caution(*key), *self._shown.get(key, ())):
            if id_ == beside.id:
                continue
            now = self._now.get(id_)
            if now is None or (
                caution in now.entry.cautions
                and now.entry.status is not Status.VOID
                and (now.entry.accession, now.entry.volume) == key[:2]
            ):
                return True
        return False


def name_volume(accession: str | None, volume: str | None) -> str:
    """Return what a volume is called in a sentence: "Volume 1 of 2031-007"."""
    return f"Volume {volume or 'without a number'} of {accession or 'no accession'}"


def _volume_of(entry: Entry) -> tuple[str | None, str | None]:
    return entry.accession, entry.volume


def name_entry(entry: Entry) -> str:
    """Return what an entry is called in a sentence: "The postcard on leaf 14 recto"."""
    what = " and ".join(entry.item_type) or ("entry" if entry.leaf else "volume")
    if entry.leaf is None:
        named = entry.volume_name or entry.volume
        return f"The {what}{f' {named}' if named else ''}"
    leaf = f"leaf {entry.leaf}" if entry.leaf[:1].isdecimal() else entry.leaf
    side = f" {entry.side}" if entry.side is not None else ""
    return f"The {what} on {leaf}{side}"
