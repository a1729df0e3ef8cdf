"""Term tables: one concept on each line of a CSV file, for work in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from voicelog.vocabulary.concepts import AuthorityMatch, Concept, TermField
from voicelog.vocabulary.term_lists import Problem, TermList, make_id, parse_concept

COLUMNS = (
    "field",
    "id",
    "term",
    "variants",
    "definition",
    "authority",
    "cautions",
    "authority_match",
)
"""In this order; the last one was added later and may be missing in a file."""

_NEEDED = ("field", "term")
_SEPARATOR = "|"
_LISTS = ("variants", "cautions")


def format_term_table(concepts: Iterable[Concept]) -> str:
    """Return the concepts as CSV (RFC 4180), several values in one cell separated by "|"."""
    stream = io.StringIO(newline="")
    writer = csv.DictWriter(stream, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for concept in concepts:
        writer.writerow(
            {
                "field": str(concept.field),
                "id": concept.id,
                "term": concept.term,
                "variants": _SEPARATOR.join(concept.variants),
                "definition": concept.definition,
                "authority": concept.authority or "",
                "cautions": _SEPARATOR.join(concept.cautions),
                "authority_match": str(concept.authority_match) if concept.authority else "",
            }
        )
    return stream.getvalue()


def parse_term_table(text: str, *, origin: str, field: TermField | None = None) -> TermList:
    """Return the concepts of a term table; lines that are none are among its problems.

    Args:
        text: the table; columns may stand in any order, ``field`` and ``term`` must be there.
        origin: the file, for messages.
        field: the field of lines that name none.
    """
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error as failure:
        message = f"is not valid CSV ({failure}); save it as CSV with commas again."
        return TermList(origin=origin, problems=(Problem(origin=origin, message=message),))
    header = [name.strip().lower() for name in rows[0]] if rows else []
    strays = [_problem(origin, sentence) for sentence in _find_wrong_columns(header, field)]
    if strays:
        return TermList(origin=origin, problems=tuple(strays))
    concepts: list[Concept] = []
    problems: list[Problem] = []
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        read = _read_row(header, row, number=number, origin=origin, field=field)
        if isinstance(read, Concept):
            concepts.append(read)
        else:
            problems += read
    return TermList(origin=origin, concepts=tuple(concepts), problems=tuple(problems))


def _find_wrong_columns(header: list[str], field: TermField | None) -> Iterator[str]:
    needed = [name for name in _NEEDED if name != "field" or field is None]
    for name in needed:
        if name not in header:
            yield f"has no column {name!r}; its first line must name the columns."
    for name in header:
        if name and name not in COLUMNS:
            yield f"has a column {name!r}; the columns are {', '.join(COLUMNS)}."
    for name in COLUMNS:
        if header.count(name) > 1:
            yield f"has the column {name!r} twice; take one out."


def _read_row(
    header: list[str], row: list[str], *, number: int, origin: str, field: TermField | None
) -> Concept | tuple[Problem, ...]:
    if len(row) > len(header) and any(cell.strip() for cell in row[len(header) :]):
        message = (
            f"row {number} has more cells than there are columns; put texts with commas in quotes."
        )
        return (_problem(origin, message),)
    cells = {name: cell.strip() for name, cell in zip(header, row, strict=False) if name}
    name = cells.pop("field", "") or (str(field) if field else "")
    if name not in set(TermField):
        message = f"row {number}: {name!r} is no field; it is one of {', '.join(TermField)}."
        return (_problem(origin, message),)
    if not cells.get("term"):
        return (_problem(origin, f"row {number}: term is empty; write the preferred term."),)
    values: dict[str, str | list[str]] = {key: cell for key, cell in cells.items() if cell}
    for key in _LISTS:
        parts = cells.get(key, "").split(_SEPARATOR)
        values[key] = [part.strip() for part in parts if part.strip()]
    values.setdefault("id", make_id(cells["term"]))
    values.setdefault("authority_match", str(AuthorityMatch.EXACT))
    read = parse_concept(values, field=TermField(name), origin=origin)
    if isinstance(read, Concept):
        return read
    return tuple(_problem(origin, f"row {number}: {problem.message}") for problem in read)


def _problem(origin: str, message: str) -> Problem:
    return Problem(origin=origin, message=message)
