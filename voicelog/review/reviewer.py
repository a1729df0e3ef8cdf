"""The reviewer: everything a person can do to the entries of a log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from voicelog.domain.act import ActKind, Seen
from voicelog.domain.entry import Kind, Relation, Status
from voicelog.domain.plain_values import plain_value
from voicelog.errors import NothingToUndo, ReviewError, ValueRefused
from voicelog.extraction.reader import Reader
from voicelog.review import pieces, placing, volumes
from voicelog.review.acting import Done, name_entry
from voicelog.review.alike import CARRIED, Alike, find_alike
from voicelog.review.following import with_consequences
from voicelog.review.learning import Learning, find_offers
from voicelog.review.redacting import Redacting
from voicelog.review.sampling import Sampling
from voicelog.review.seat import Seat
from voicelog.review.typed_relations import RELATIONS, parse_relations
from voicelog.review.typed_values import TypedValue, TypedValues, clean_text
from voicelog.store.act_rows import put_back
from voicelog.store.entry_log import StoredEntry
from voicelog.store.log import Log
from voicelog.store.reviewed_log import HistoryLine, Signature

_PLACES = frozenset({"leaf", "side", "item"})


class Reviewer:
    """One person reviewing one log.

    The log is open for writing only while an act is done, so two reviewers can work at once;
    a live session holds it all the time. Every act names the version of the entry that it is
    based on (:class:`Seen`), and is refused as a whole where one changed meanwhile.

    Every act may raise, and then nothing was changed:

    - ``ValueRefused``: what was typed is no value of the field; has field and suggestions.
    - ``EntryChanged``: a version was stale; has the wanted and the present values.
    - ``EntryLocked``: the entry is confirmed, or its volume is signed off.
    - ``ReviewError``: the act makes no sense (void already, no such entry, ...).
    - ``LogBusy``: a live session or another program writes to the log.
    - ``StoreError``: the log can't be written.

    Args:
        folder: the log's folder.
        reader: reads what is typed, with the vocabulary and options of the log.
        by: the reviewer's name; it stands in the history.
        made_by: this program and its version.
        session: what :meth:`undo` reaches back over; a new one by default.

    Attributes:
        values: understands what is typed, and suggests terms.
        sampling: draws blind samples, and knows the error rate.
        learning: takes in what corrections teach, lists it, and takes it back.
        redacting: takes words and their sound out of the log for good.
    """

    def __init__(
        self, folder: Path, reader: Reader, *, by: str, made_by: str, session: str | None = None
    ) -> None:
        self._seat = Seat(folder, reader, by=by, made_by=made_by, session=session)
        self.values = TypedValues(reader)
        self.sampling = Sampling(self._seat)
        self.learning = Learning(self._seat)
        self.redacting = Redacting(self._seat)

    # Looking -----------------------------------------------------------------------------

    def read(self, entry: str) -> StoredEntry:
        """Return an entry as it is now, with its number and version.

        Raises:
            ReviewError: there is no such entry.
        """
        return self._seat.read(entry)

    def history(self, entry: str | None = None) -> tuple[HistoryLine, ...]:
        """Return every change of a value, the latest first, of one entry or the whole log."""
        return self._seat.history(entry)

    def check_typed(self, field: str, typed: str) -> TypedValue:
        """Return what a typed text would come to, without changing anything.

        Raises:
            ValueRefused: it is no value of this field.
        """
        return self.values.parse(field, typed)

    # Values ------------------------------------------------------------------------------

    def set_value(self, seen: Seen, field: str, typed: str) -> Done:
        """Give a field of an entry the value that was typed.

        Doubts about the field are settled by it; nothing typed empties the field. A leaf or
        side moves the entry, a number for ``item`` reorders its side. An enclosure makes an
        item enclosed, and what came away gets its mark. Relations name other entries by their
        numbers. All rows of a volume follow where its
        accession, number or name is set on the volume's own entry.
        """
        if field in _PLACES:
            return self._set_place(seen, field, typed)
        if field == RELATIONS:
            with Log.open(self._seat.folder) as log:
                relations = parse_relations(typed, log.find_numbered)
            return self.set_relations(seen, relations)
        typed_value = self.values.parse(field, typed)
        value = typed_value.value
        with self._seat.acting() as act:
            entry = act.look_up(seen, wanted={field: value})
            act.require_open(entry)
            details = {"field": field, "typed": typed}
            if entry.kind is Kind.VOLUME and field in CARRIED:
                remarks = volumes.rename(act, entry, field, value)
                details = {"field": field, "was": getattr(entry, field), "now": plain_value(value)}
                return act.record(ActKind.SET_ALIKE, details=details, remarks=remarks)
            if field in {"accession", "volume"}:
                placing.rename_place(act, [entry], field, value)
            else:
                act.decide(entry, with_consequences(act, entry, field, value))
            done = act.record(ActKind.SET, details=details, remarks=typed_value.doubts)
            offers = find_offers(entry, act.get(entry.id), field, self._seat.reader.vocabulary)
            return replace(done, offers=offers)

    def set_relations(self, seen: Seen, relations: Sequence[Relation]) -> Done:
        """Say how an entry lies to others, in place of what it said before."""
        with self._seat.acting() as act:
            entry = act.look_up(seen, wanted={"relations": tuple(relations)})
            act.require_open(entry)
            for relation in relations:
                if act.get(relation.id).id == entry.id:
                    raise ReviewError(f"{name_entry(entry)} can't be {relation.kind} itself.")
            act.decide(entry, {"relations": tuple(relations)})
            return act.record(ActKind.SET, details={"field": "relations"})

    def preview_alike(self, entry: str, field: str, typed: str) -> Alike:
        """Return which entries carry the same value, and would change with this one.

        Args:
            entry: the id of the entry that has the wrong value, or had it before it was put
                right.
            field: accession, volume, volume_name, leaf or side.
            typed: the right value.
        """
        now = self._parse_carried(field, typed)
        with Log.open(self._seat.folder) as log:
            return find_alike(log, self.read(entry).entry, field, now, typed=typed)

    def set_alike(self, alike: Alike, *, only: Sequence[Seen] | None = None) -> Done:
        """Do what a preview showed: one correction, one act, one undo.

        Args:
            alike: the preview.
            only: those of its entries to change; all of them by default.
        """
        wanted = [one.seen for one in alike.entries] if only is None else only
        if not wanted:
            raise ReviewError("No entry is left that carries this value.")
        with self._seat.acting() as act:
            entries = [act.look_up(one, wanted={alike.field: alike.now}) for one in wanted]
            for entry in entries:
                act.require_open(entry)
            placing.rename_place(act, entries, alike.field, alike.now)
            return act.record(ActKind.SET_ALIKE, details=_carried(alike))

    # Confirming ----------------------------------------------------------------------------

    def confirm(self, seen: Sequence[Seen]) -> Done:
        """Confirm entries: from now on no note and no reading changes them.

        Confirming again settles what later notes said against it.
        """
        with self._seat.acting() as act:
            for one in seen:
                entry = act.look_up(one, wanted={"status": Status.CONFIRMED})
                if entry.status is not Status.CONFIRMED or not entry.doubts:
                    act.require_open(entry)
                act.decide(entry, {"status": Status.CONFIRMED})
            return act.record(ActKind.CONFIRM)

    def confirm_undoubted(
        self, accession: str | None, volume: str | None, *, leaf: str | None = None
    ) -> Done:
        """Confirm every entry of a volume, or of one leaf, that nothing is doubted of.

        Entries of a blind sample that were not judged yet are left out; the remarks say so.
        """
        with self._seat.acting() as act:
            remarks = volumes.confirm_undoubted(act, accession, volume, leaf=leaf)
            return act.record(ActKind.CONFIRM, remarks=remarks)

    def reopen(self, seen: Seen) -> Done:
        """Open a confirmed entry again."""
        with self._seat.acting() as act:
            entry = act.look_up(seen, wanted={"status": Status.HEARD})
            if entry.status is not Status.CONFIRMED:
                raise ReviewError(f"{name_entry(entry)} is not confirmed; change it as it is.")
            act.decide(entry, {"status": Status.HEARD})
            return act.record(ActKind.REOPEN)

    def void(self, seen: Seen) -> Done:
        """Declare an entry void; it stays in the log and can be restored."""
        with self._seat.acting() as act:
            entry = act.look_up(seen, wanted={"status": Status.VOID})
            act.require_open(entry)
            act.decide(entry, {"status": Status.VOID})
            return act.record(ActKind.VOID)

    def restore(self, seen: Seen) -> Done:
        """Bring a void entry back, whoever or whatever made it void.

        An item whose number was given to another meanwhile comes last on its side.
        """
        with self._seat.acting() as act:
            entry = act.look_up(seen, wanted={"status": Status.HEARD})
            if entry.status is not Status.VOID:
                raise ReviewError(f"{name_entry(entry)} is not void; there is nothing to restore.")
            values: dict[str, Any] = {"status": Status.HEARD}
            if any(one.item == entry.item for one in act.side(entry)):
                values["item"] = act.last_item_number(entry) + 1
            if entry.mark and any(one != entry.id for one in act.log.find_marked(entry.mark)):
                values["mark"] = act.free_mark(entry)
            act.decide(entry, values)
            return act.record(ActKind.RESTORE)

    # Places and pieces -----------------------------------------------------------------------

    def move(self, seen: Seen, typed: str) -> Done:
        """Put an entry on the leaf and side that was typed; an item comes last there.

        Its mark, if it has one, stays as it is: it may be written on the object.
        """
        place = self.values.parse_place(typed, of=self.read(seen.entry).entry)
        with self._seat.acting() as act:
            entry = act.look_up(seen, wanted={"leaf": place.leaf, "side": place.side})
            act.require_open(entry)
            placing.move(act, entry, place)
            return act.record(ActKind.MOVE, details={"typed": typed})

    def reorder(self, wanted: Sequence[Seen]) -> Done:
        """Number the items of one side anew, in the order given; no mark changes by it."""
        with self._seat.acting() as act:
            placing.reorder(act, [act.look_up(one) for one in wanted])
            return act.record(ActKind.REORDER)

    def split(self, seen: Seen, taken: Mapping[str, str]) -> Done:
        """Make two items of one; the new one comes right behind.

        Args:
            seen: the item that is really two.
            taken: field to what was typed for the second item. What the first one has of it,
                it loses: terms of a list, pieces of the quantity, the same caption or date.
        """
        values = {field: self.values.parse(field, typed).value for field, typed in taken.items()}
        with self._seat.acting() as act:
            entry = act.look_up(seen)
            act.require_open(entry)
            _, remarks = pieces.split(act, entry, values)
            return act.record(ActKind.SPLIT, details={"typed": dict(taken)}, remarks=remarks)

    def merge(self, into: Seen, other: Seen) -> Done:
        """Make one entry of two that describe the same thing; the second becomes void."""
        with self._seat.acting() as act:
            first, second = act.look_up(into), act.look_up(other)
            act.require_open(first)
            act.require_open(second)
            pieces.merge(act, first, second)
            return act.record(ActKind.MERGE)

    def add(self, typed: str, *, beside: str) -> Done:
        """Add an entry by typing what a handler would have said.

        Args:
            typed: the words: "a ticket, cellophane tape, loose", or with another place,
                "leaf 15 verso, blank".
            beside: the id of an entry in the same volume; without a place in the words the
                new entry goes to its side.
        """
        text = clean_text("remark", typed)
        with self._seat.acting() as act:
            pieces.add(act, self._seat.reader, text, beside=act.get(beside))
            return act.record(ActKind.ADD, details={"typed": text})

    # Taking back ---------------------------------------------------------------------------

    def undo(self) -> Done:
        """Take back the last act of this session that was not taken back yet.

        Every entry is again exactly what it was. An entry that the act made becomes void.

        Raises:
            NothingToUndo: there is none.
            EntryChanged: somebody changed one of its entries since.
        """
        with self._seat.acting() as act:
            number = act.log.find_last_act(self._seat.author.session)
            if number is None:
                raise NothingToUndo("You have done nothing in this session that can be undone.")
            for change in reversed(list(act.log.iter_changes(number))):
                if not act.log.is_as_left(change, act=number):
                    act.refuse_stale(change.entry)
                entry = act.get(change.entry)
                if change.before is None:
                    act.decide(entry, {"status": Status.VOID})
                else:
                    act.put_back(entry, put_back(entry, change.before))
            return act.record(ActKind.UNDO, undoes=number)

    # Signing off -----------------------------------------------------------------------------

    def sign_off(self, accession: str | None, volume: str | None) -> Done:
        """Sign a volume off; from then on nothing in it can be changed by review.

        Raises:
            ReviewError: entries of it are not confirmed yet; the sentence says how many.
        """
        with self._seat.acting() as act:
            volumes.require_done(act, accession, volume)
            return act.record(ActKind.SIGN_OFF, details={"accession": accession, "volume": volume})

    def unlock(self, accession: str | None, volume: str | None, *, why: str) -> Done:
        """Open a volume that was signed off; who, when and why is kept.

        Raises:
            ReviewError: it is not signed off, or no reason was given.
        """
        reason = clean_text("remark", why)
        with self._seat.acting() as act:
            volumes.require_signed(act, accession, volume)
            if not reason:
                raise ReviewError("Say why the volume has to be opened again.")
            details = {"accession": accession, "volume": volume, "why": reason}
            return act.record(ActKind.UNLOCK, details=details)

    def signatures(self) -> tuple[Signature, ...]:
        """Return every sign-off, those that were unlocked again too, in their order."""
        with Log.open(self._seat.folder) as log:
            return tuple(log.iter_signatures())

    # Parts of acts ---------------------------------------------------------------------------

    def _set_place(self, seen: Seen, field: str, typed: str) -> Done:
        if field == "leaf":
            return self.move(seen, typed)
        if field == "side":
            return self.move(seen, f"{self.read(seen.entry).entry.leaf} {typed}")
        number = self.values.parse("quantity", typed).value
        with self._seat.acting() as act:
            entry = act.look_up(seen, wanted={"item": number})
            if entry.kind is not Kind.ITEM:
                raise ReviewError(f"{name_entry(entry)} is no item and has no order.")
            side = [one for one in act.side(entry) if one.id != entry.id]
            side.insert(number - 1, entry)
            placing.reorder(act, side)
            return act.record(ActKind.REORDER, details={"typed": typed})

    def _parse_carried(self, field: str, typed: str) -> Any:
        if field == "leaf":
            return self.values.parse_place(typed).leaf
        if field == "side":
            return self.values.parse_place(f"1 {typed}").side
        value = self.values.parse(field, typed).value
        if field in CARRIED and value is None:
            raise ValueRefused(
                f"Type the {field.replace('_', ' ')} that all of them should have.",
                field=field,
                typed=typed,
            )
        return value


def _carried(alike: Alike) -> dict[str, Any]:
    return {"field": alike.field, "was": alike.was, "now": plain_value(alike.now)}
