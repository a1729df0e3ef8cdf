"""JSON Lines for programs: one entry record on each line, nothing left out of it."""

from __future__ import annotations

import json

from voicelog.domain.entry import format_entry_record
from voicelog.exports.consignment import Consignment
from voicelog.exports.target import Unfinished


def write_json_lines(consignment: Consignment, unfinished: Unfinished) -> None:
    """Write one entry record on each line."""
    with unfinished.path.open("x", encoding="utf-8", newline="") as stream:
        for number, entry in consignment.selection:
            record = format_entry_record(entry, number=number)
            stream.write(json.dumps(record, ensure_ascii=False) + "\n")
