"""An export from beginning to end: written, recorded in the log, and only then there."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from voicelog.errors import StoreError
from voicelog.exports.consignment import Consignment
from voicelog.exports.formats import Format, load_writer
from voicelog.exports.target import Unfinished, new_target
from voicelog.exports.validation import check_valid
from voicelog.store.export_record import ExportedFile, ExportRecord
from voicelog.store.writing import WritableLog, now_text


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOver:
    """An export that was made.

    Attributes:
        record: what the log remembers of it.
        why_unrecorded: why the log could not write it down, or None where it did.
    """

    record: ExportRecord
    why_unrecorded: str | None = None


def hand_over(
    consignment: Consignment,
    format_: Format,
    path: Path,
    *,
    made_by: str,
    changed_since: str | None = None,
) -> HandedOver:
    """Write a consignment to a file or folder and record that in the log.

    A log that can't be written just now (another voicelog holds it, or its disk is read-only)
    can still be exported, without a record; but restricted entries leave only on record.

    Args:
        consignment: what to write.
        format_: in which format.
        path: where to.
        made_by: the program and its version.
        changed_since: from when on changes were asked for, for the record.

    Raises:
        UsageError: the path can't be written to.
        ExportInvalid: what was written is not what the format's schema asks for.
        StoreError: the disk or the log refused; nothing was written.
    """
    write = load_writer(format_)
    with new_target(path, format_.shape_at(path)) as unfinished:
        write(consignment, unfinished)
        if format_.schema:
            check_valid(unfinished.path, format_.schema)
        record = _make_record(
            consignment,
            format_,
            unfinished.seal(),
            name=unfinished.name,
            made_by=made_by,
            changed_since=changed_since,
        )
        return _record(consignment, record, unfinished)


def _record(consignment: Consignment, record: ExportRecord, unfinished: Unfinished) -> HandedOver:
    with ExitStack() as stack:
        try:
            log = stack.enter_context(
                WritableLog.open_to_write(consignment.log.folder, made_by=record.made_by)
            )
        except StoreError as failure:
            if record.include_restricted:
                raise
            unfinished.take_name()
            return HandedOver(record=record, why_unrecorded=str(failure))
        try:
            with log.recording_export(record):
                unfinished.take_name()
        except BaseException:
            # The record itself may find no room, and nothing leaves without one.
            unfinished.take_back_name()
            raise
    return HandedOver(record=record)


def _make_record(
    consignment: Consignment,
    format_: Format,
    files: tuple[ExportedFile, ...],
    *,
    name: str,
    made_by: str,
    changed_since: str | None,
) -> ExportRecord:
    selection = consignment.selection
    return ExportRecord(
        format=format_.name,
        name=name,
        made_at=now_text(),
        as_of=consignment.as_of,
        made_by=made_by,
        entries=selection.tally.selected,
        restricted_left_out=selection.tally.restricted,
        unconfirmed_left_out=selection.tally.unconfirmed,
        include_restricted=selection.rules.include_restricted,
        include_unconfirmed=selection.rules.include_unconfirmed,
        changed_since=changed_since,
        files=files,
    )
