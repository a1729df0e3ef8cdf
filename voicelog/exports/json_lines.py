"""JSON Lines for programs: one entry record on each line, nothing left out of it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TextIO

from voicelog.domain.entry import Entry, format_entry_record


def write_json_lines(entries: Iterable[tuple[int, Entry]], stream: TextIO) -> int:
    """Write the entries and return how many there were."""
    count = 0
    for number, entry in entries:
        record = format_entry_record(entry, number=number)
        stream.write(json.dumps(record, ensure_ascii=False) + "\n")
        count += 1
    return count
