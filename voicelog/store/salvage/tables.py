"""Which rows belong to which table, also where the way to a page is gone."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass, field

from voicelog.store.salvage.cells import Page, Row, Unreadable, Value, read_page
from voicelog.store.salvage.page_file import PageFile

SCHEMA_PAGE = 1
_CLASSES: Mapping[str, tuple[type, ...]] = {
    "INTEGER": (int,),
    "INT": (int,),
    "REAL": (int, float),
    "TEXT": (str,),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table, as rows store it.

    Attributes:
        name: its name.
        declared: the kind of value that it is declared to hold.
        may_be_null: whether a row may leave it empty.
        may_be_absent: whether rows from before it was added can do without it.
    """

    name: str
    declared: str
    may_be_null: bool
    may_be_absent: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """How the rows of a table are stored.

    Attributes:
        name: the table.
        columns: its columns in the order in which a row stores them.
        has_rowids: whether its rows are numbered.
        number_column: the column that is the row's number and is stored as such, or None.
        key: the columns by which a row is known.
        references: its columns that name rows of other tables: column, table, column there.
        root: the page that its tree begins with, where that is known.
    """

    name: str
    columns: tuple[Column, ...]
    has_rowids: bool
    number_column: str | None
    key: tuple[str, ...]
    references: tuple[tuple[str, str, str], ...] = ()
    root: int | None = None


@dataclass(slots=True, kw_only=True)
class Found:
    """What was read of a database.

    Attributes:
        rows: by table, every row as its columns' values, in the order of its tree.
        broken_pages: how many pages of the tables could not be read.
        broken_rows: how many rows on pages that could.
        strays: how many rows were found on pages that no table leads to any more.
    """

    rows: dict[str, list[dict[str, Value]]] = field(default_factory=dict)
    broken_pages: int = 0
    broken_rows: int = 0
    strays: int = 0


def describe_tables(database: sqlite3.Connection) -> tuple[Table, ...]:
    """Return how the ordinary tables of a healthy database are stored."""
    # Search tables and what SQLite keeps for itself are made anew from the others.
    listed = database.execute(
        "SELECT list.name, master.sql FROM pragma_table_list AS list "
        "JOIN sqlite_master AS master ON master.name = list.name AND master.type = 'table' "
        "WHERE list.schema = 'main' AND list.type = 'table' "
        "AND list.name NOT LIKE 'sqlite!_%' ESCAPE '!' "
        "AND list.name <> '_sqlite_migrations' ORDER BY master.rowid"
    ).fetchall()
    return tuple(_describe(name, sql) for name, sql in listed)


def read_tables(file: PageFile, wanted: Iterable[Table]) -> Found:
    """Return every row of the wanted tables that a damaged file still holds.

    The file's own list of tables says where each begins and which columns it has. What that
    list no longer says is taken from ``wanted``. A page that no table leads to any more is
    read all the same: its rows go to the table that stores rows like these.

    Args:
        file: the pages.
        wanted: the tables of a healthy log.
    """
    found = Found()
    there = _read_list(file, found)
    listed_in_whole = not (found.broken_pages or found.broken_rows)
    seen: set[int] = set(file.iter_free())
    tables = []
    for table in wanted:
        sql, root = there.get(table.name, (None, None))
        described = table
        if sql is not None:
            with suppress(sqlite3.Error):
                described = _describe(table.name, sql, root=root)
        tables.append(described)
    hurt = [table for table in tables if not _walk_table(file, table, found, seen)]
    if hurt or not listed_in_whole:
        _walk_others(file, there, {table.name for table in tables}, seen)
        _read_strays(file, hurt, found, seen)
    return found


def _describe(name: str, sql: str, *, root: int | None = None) -> Table:
    with closing(sqlite3.connect(":memory:")) as database:
        database.execute(sql)
        info = database.execute(f'PRAGMA table_info("{name}")').fetchall()
        foreign = database.execute(f'PRAGMA foreign_key_list("{name}")').fetchall()
        without = database.execute(
            "SELECT wr FROM pragma_table_list WHERE name = ? AND schema = 'main'", [name]
        ).fetchone()[0]
    columns = {
        column: Column(
            name=column,
            declared=declared.upper(),
            may_be_null=not (required or nth),
            # Only tables with row numbers were ever given further columns.
            may_be_absent=not (without or nth) and not (required and default is None),
        )
        for _, column, declared, required, default, nth in info
    }
    key = tuple(
        row[1] for row in sorted((row for row in info if row[5]), key=lambda row: int(row[5]))
    )
    number = None
    if not without and len(key) == 1 and columns[key[0]].declared == "INTEGER":
        number = key[0]
    order = (*key, *(one for one in columns if one not in key)) if without else tuple(columns)
    return Table(
        name=name,
        columns=tuple(columns[one] for one in order),
        has_rowids=not without,
        number_column=number,
        key=key,
        references=tuple((row[3], row[2], row[4] or "number") for row in foreign),
        root=root,
    )


def _read_list(file: PageFile, found: Found) -> dict[str, tuple[str | None, int]]:
    """Return SQL and first page of every table and index that the file's list names."""
    there: dict[str, tuple[str | None, int]] = {}
    for page in _walk(file, SCHEMA_PAGE, set()):
        if page is None or not page.is_of_rowids:
            found.broken_pages += 1
            continue
        found.broken_rows += page.broken
        for row in page.rows:
            match row.values:
                case (str(), str() as name, str(), int() as root, None | str() as sql) if root:
                    there[name] = (sql, root)
                case (_, _, _, _, _):
                    pass  # a trigger, or a table of another kind, has no pages
                case _:
                    found.broken_rows += 1
    return there


def _walk(file: PageFile, root: int, seen: set[int]) -> Iterator[Page | None]:
    """Yield the pages of a tree in the order of their rows; None for one that can't be read."""
    waiting = [root]
    while waiting:
        number = waiting.pop()
        if number in seen:
            continue
        try:
            page = read_page(file, number)
        except Unreadable:
            yield None
            continue
        seen.add(number)
        seen.update(page.overflow)
        yield page
        waiting.extend(reversed(page.children))


def _walk_table(file: PageFile, table: Table, found: Found, seen: set[int]) -> bool:
    """Read a table from its first page on; return whether all of it could be read."""
    rows = found.rows.setdefault(table.name, [])
    if table.root is None:
        return False
    is_whole = True
    for page in _walk(file, table.root, seen):
        if page is None or page.is_of_rowids != table.has_rowids:
            found.broken_pages += 1
            is_whole = False
            continue
        found.broken_rows += page.broken
        is_whole = is_whole and not page.broken
        for row in page.rows:
            named = _name_values(table, row)
            if named is None:
                found.broken_rows += 1
            else:
                rows.append(named)
    return is_whole


def _walk_others(
    file: PageFile,
    there: Mapping[str, tuple[str | None, int]],
    known: set[str],
    seen: set[int],
) -> None:
    """Mark the pages of everything else, so that no row of theirs is taken for a stray."""
    for name, (_, root) in there.items():
        if name not in known:
            for _ in _walk(file, root, seen):
                pass


def _read_strays(file: PageFile, hurt: Sequence[Table], found: Found, seen: set[int]) -> None:
    unclear: list[list[tuple[Table, list[dict[str, Value]]]]] = []
    for number in range(2, file.page_count + 1):
        if number in seen:
            continue
        try:
            page = read_page(file, number)
        except Unreadable:
            continue
        fitting = [
            (table, named) for table in hurt if (named := _name_all(table, page)) is not None
        ]
        if len(fitting) == 1:
            _add_strays(*fitting[0], found)
        elif fitting:
            unclear.append(fitting)
    for fitting in unclear:
        # Rows belong to the table whose references lead somewhere.
        _add_strays(
            *max(fitting, key=lambda fit: _share_of_references(fit[0], fit[1], found)), found
        )


def _add_strays(table: Table, named: Iterable[dict[str, Value]], found: Found) -> None:
    rows = found.rows.setdefault(table.name, [])
    known = {_key_of(table, row) for row in rows}
    new = [row for row in named if _key_of(table, row) not in known]
    rows += new
    found.strays += len(new)


def _share_of_references(table: Table, named: Sequence[Mapping[str, Value]], found: Found) -> float:
    """Return which part of the rows' references names a row that was found."""
    leads: list[bool] = []
    for column, parent, there in table.references:
        known = {row.get(there) for row in found.rows.get(parent, ())}
        leads += [row[column] in known for row in named if row.get(column) is not None]
    return sum(leads) / len(leads) if leads else 0.0


def _name_all(table: Table, page: Page) -> list[dict[str, Value]] | None:
    """Return the rows of a page by columns, if all of them can be rows of this table."""
    if page.is_of_rowids != table.has_rowids or not page.rows:
        return None
    named = [_name_values(table, row) for row in page.rows]
    return None if None in named else [row for row in named if row is not None]


def _name_values(table: Table, row: Row) -> dict[str, Value] | None:
    """Return a row by columns, or None where it can't be a row of this table.

    A row from before a column was added is shorter; what it lacks keeps its default.
    """
    if not row.values or len(row.values) > len(table.columns):
        return None
    named: dict[str, Value] = {}
    for column, value in zip(table.columns, row.values, strict=False):
        if column.name == table.number_column:
            named[column.name] = row.rowid
        elif value is None and column.may_be_null:
            named[column.name] = None
        elif value is None or not isinstance(value, _CLASSES.get(column.declared, (bytes,))):
            return None
        else:
            named[column.name] = value
    is_whole = all(column.may_be_absent for column in table.columns[len(row.values) :])
    return named if is_whole else None


def _key_of(table: Table, row: Mapping[str, Value]) -> tuple[Value, ...]:
    return tuple(row.get(name) for name in table.key or tuple(row))
