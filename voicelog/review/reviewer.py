"""The reviewer: everything a person can do to a log after the notes were taken."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from voicelog.domain.act import ActKind, Seen
from voicelog.domain.entry import Status
from voicelog.errors import EntryChanged, NothingToUndo, ReviewError
from voicelog.extraction.reader import Reader
from voicelog.review.acting import Acting, Author, Done, name_entry
from voicelog.review.typed_values import TypedValue, TypedValues
from voicelog.store.act_rows import put_back
from voicelog.store.folder import require_log_folder
from voicelog.store.log import Log
from voicelog.store.reviewed_log import StoredEntry
from voicelog.store.writing import WritableLog

_WAIT_FOR_OTHERS_S = 2.0
"""Another reviewer's act is over long before; a live session is not waited for longer."""


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
    """

    def __init__(
        self, folder: Path, reader: Reader, *, by: str, made_by: str, session: str | None = None
    ) -> None:
        self.folder = folder
        self.values = TypedValues(reader)
        self._reader = reader
        self._made_by = made_by
        self._author = Author(by=by, session=session or str(uuid.uuid4()))

    # Looking -----------------------------------------------------------------------------

    def read(self, entry: str) -> StoredEntry:
        """Return an entry as it is now, with its number and version.

        Raises:
            ReviewError: there is no such entry.
        """
        with Log.open(self.folder) as log:
            stored = log.find_entry(entry)
        if stored is None:
            raise ReviewError(f"There is no entry {entry} in the log; load the page again.")
        return stored

    def check_typed(self, field: str, typed: str) -> TypedValue:
        """Return what a typed text would come to, without changing anything.

        Raises:
            ValueRefused: it is no value of this field.
        """
        return self.values.parse(field, typed)

    # Single entries ----------------------------------------------------------------------

    def set_value(self, seen: Seen, field: str, typed: str) -> Done:
        """Give a field of an entry the value that was typed.

        Doubts about the field are settled by it. Nothing typed empties the field.
        """
        typed_value = self.values.parse(field, typed)
        with self._act() as act:
            entry = act.look_up(seen, wanted={field: typed_value.value})
            act.require_open(entry)
            act.decide(entry, {field: typed_value.value})
            return act.record(
                ActKind.SET, details={"field": field, "typed": typed}, remarks=typed_value.doubts
            )

    def confirm(self, seen: Sequence[Seen]) -> Done:
        """Confirm entries: from now on no note and no reading changes them."""
        with self._act() as act:
            entries = [act.look_up(one, wanted={"status": Status.CONFIRMED}) for one in seen]
            for entry in entries:
                act.require_open(entry)
                act.decide(entry, {"status": Status.CONFIRMED})
            return act.record(ActKind.CONFIRM)

    def reopen(self, seen: Seen) -> Done:
        """Open a confirmed entry again."""
        with self._act() as act:
            entry = act.look_up(seen, wanted={"status": Status.HEARD})
            if entry.status is not Status.CONFIRMED:
                raise ReviewError(f"{name_entry(entry)} is not confirmed; change it as it is.")
            act.decide(entry, {"status": Status.HEARD})
            return act.record(ActKind.REOPEN)

    def void(self, seen: Seen) -> Done:
        """Declare an entry void; it stays in the log and can be restored."""
        with self._act() as act:
            entry = act.look_up(seen, wanted={"status": Status.VOID})
            act.require_open(entry)
            act.decide(entry, {"status": Status.VOID})
            return act.record(ActKind.VOID)

    def restore(self, seen: Seen) -> Done:
        """Bring a void entry back, whoever or whatever made it void."""
        with self._act() as act:
            entry = act.look_up(seen, wanted={"status": Status.HEARD})
            if entry.status is not Status.VOID:
                raise ReviewError(f"{name_entry(entry)} is not void; there is nothing to restore.")
            act.decide(entry, {"status": Status.HEARD})
            return act.record(ActKind.RESTORE)

    # Taking back ---------------------------------------------------------------------------

    def undo(self) -> Done:
        """Take back the last act of this session that was not taken back yet.

        Every entry is again exactly what it was. An entry that the act made becomes void.

        Raises:
            NothingToUndo: there is none.
            EntryChanged: somebody changed one of its entries since.
        """
        with self._act() as act:
            number = act.log.find_last_act(self._author.session)
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

    @contextmanager
    def _act(self) -> Iterator[Acting]:
        require_log_folder(self.folder)
        with WritableLog.open_to_write(
            self.folder, made_by=self._made_by, wait_s=_WAIT_FOR_OTHERS_S
        ) as log:
            yield Acting(log, self._reader.vocabulary, self._author)


__all__ = ["Done", "EntryChanged", "Reviewer"]
