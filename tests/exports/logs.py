"""Logs with known entries, and the consignments that exports are made of."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from voicelog.domain.entry import Entry
from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk_file import load_crosswalk
from voicelog.exports.formats import choose_format, load_writer
from voicelog.exports.selection import Selection, SelectionRules
from voicelog.exports.target import new_target
from voicelog.store.log import Log
from voicelog.store.writing import Understanding, WritableLog
from voicelog.vocabulary import load_vocabulary

FACTS = {"uid": "0d6f7c1e-1111-4222-8333-444455556666"}
AS_OF = "2031-05-02T15:04:05Z"
EVERYTHING = SelectionRules(include_restricted=True, include_unconfirmed=True)


def make_log(folder: Path, *entries: Entry) -> Path:
    """Make a log with these entries, or bring the one that is there in line with them."""
    with WritableLog.open_to_write(folder, made_by="voicelog test", facts=FACTS) as log:
        log.write_understanding(
            Understanding(
                changed=entries, order=tuple(entry.id for entry in entries), struck=frozenset()
            ),
            reason="a test",
        )
    return folder


def consign(
    log: Log, rules: SelectionRules = EVERYTHING, *, crosswalk: Path | None = None
) -> Consignment:
    """Return what an export of the log is made of, always dated the same."""
    return Consignment(
        log=log,
        selection=Selection(log.iter_entries, rules),
        as_of=AS_OF,
        repository="Tarn Valley Record Office",
        vocabulary=load_vocabulary(),
        iiif_base_url="https://images.tarnvalley.invalid/iiif",
        crosswalk=load_crosswalk(crosswalk),
    )


def write(
    format_name: str,
    folder: Path,
    target: Path,
    rules: SelectionRules = EVERYTHING,
    *,
    crosswalk: Path | None = None,
) -> Path:
    """Write a log in a format, as the command does it but with nothing recorded."""
    format_ = choose_format(format_name)
    rules = replace(rules, kinds=format_.kinds)
    with Log.open(folder) as log, new_target(target, format_.shape_at(target)) as unfinished:
        load_writer(format_)(consign(log, rules, crosswalk=crosswalk), unfinished)
        unfinished.take_name()
    return target
