"""The formats that entries can leave in: what each is, and the function that writes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from voicelog.errors import UsageError
from voicelog.exports.consignment import Consignment
from voicelog.exports.target import Shape, Unfinished

Writer = Callable[[Consignment, Unfinished], None]
"""Writes a consignment to ``unfinished.path``, and to what else it asks to have beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A format, known without loading what writes it.

    Attributes:
        name: as the command line has it.
        summary: what it is and for whom, in a few words.
        shape: whether it becomes a file or a folder.
        whole_volumes: whether a volume is one record in it, so that one changed entry takes
            all of its volume along.
    """

    name: str
    summary: str
    shape: Shape = Shape.FILE
    whole_volumes: bool = False


FORMATS: tuple[Format, ...] = (
    Format(name="csv", summary="a table for spreadsheets, one row for each entry"),
    Format(name="jsonl", summary="JSON Lines for programs, one entry record on each line"),
)


def choose_format(name: str) -> Format:
    """Return the format of this name.

    Raises:
        UsageError: there is none.
    """
    for each in FORMATS:
        if each.name == name:
            return each
    names = ", ".join(each.name for each in FORMATS)
    raise UsageError(f"{name!r} is no format; choose one of {names}.")


def load_writer(format_: Format) -> Writer:
    """Return the function that writes a format, importing what it needs only now."""
    match format_.name:
        case "csv":
            from voicelog.exports.csv_table import write_csv

            return write_csv
        case "jsonl":
            from voicelog.exports.json_lines import write_json_lines

            return write_json_lines
    raise LookupError(f"The format {format_.name!r} has no writer.")
