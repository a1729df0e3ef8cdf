"""Stretches of lists that may be as long as the log, found by their indexes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sqlite_utils import Database

from voicelog.store.selection import Condition, Order, Selection, condition_of

_PLACED = "entries.id, accession, volume, leaf, side, status"
_FACETS = "facets"
_FIRST = Condition("facet = 'first' AND facets.value = ''")


def find_wide(
    database: Database, selection: Selection, order: Order, *, first: int, most: int
) -> list[dict[str, Any]]:
    """Return a stretch of a list: what says where each entry belongs."""
    if order is Order.BOOK:
        return _find(database, selection, None, first=first, most=most)
    found = _find(database, selection, _FIRST, first=first, most=most)
    if len(found) < most:
        doubtful = first + len(found) if found else _count_first(database, selection)
        found += _find(
            database,
            selection,
            None,
            first=max(first - doubtful, 0),
            most=most - len(found),
            but_first=True,
        )
    return found


def count_wide(database: Database, selection: Selection, *, most: int) -> int:
    """Return how many entries a list has; where several filters meet, at most so many."""
    filters = _list_filters(selection)
    if len(filters) > 1 or filters == ["leaf"]:
        return _count(database, selection, None, most=most)
    for what, value in (("handler", selection.handler), ("day", selection.day)):
        if value is not None:
            return _one(
                database,
                "SELECT entries FROM value_counts WHERE what = ? AND value = ?",
                what,
                value,
            )
    if selection.status is not None:
        return _one(database, f"SELECT sum({selection.status}) FROM volume_counts")
    for facet, value in (("doubt", selection.doubted_field), ("caution", selection.caution)):
        if value is not None:
            return _count_facet(database, facet, value)
    return _one(database, "SELECT sum(heard + queried + confirmed) FROM volume_counts")


def find_rank(database: Database, selection: Selection, id_: str, order: Order) -> int | None:
    """Return how many entries of a list stand before one; None where it isn't in the list."""
    wanted = condition_of(selection)
    row = database.execute(
        f"SELECT rank, EXISTS (SELECT 1 FROM facets WHERE entry = entries.id AND {_FIRST.sql}) "
        f"FROM entries WHERE id = ? AND {wanted.sql}",
        [id_, *wanted.values],
    ).fetchone()
    if row is None:
        return None
    rank, is_first = row
    if order is Order.BOOK:
        return _count(database, selection, None, before=rank)
    if is_first:
        return _count(database, selection, _FIRST, before=rank)
    return _count_first(database, selection) + _count(
        database, selection, None, before=rank, but_first=True
    )


def tally_wide(database: Database) -> Mapping[str, list[tuple[str, int]]]:
    """Return the values of each filter in the whole log, and how many entries have each."""
    tallies: dict[str, list[tuple[str, int]]] = {
        facet: database.execute(
            "SELECT value, entries FROM facet_counts WHERE facet = ? ORDER BY value", [facet]
        ).fetchall()
        for facet in ("doubt", "caution")
    }
    for what in ("handler", "day"):
        tallies[what] = database.execute(
            "SELECT value, entries FROM value_counts WHERE what = ? ORDER BY value", [what]
        ).fetchall()
    return tallies


def _find(
    database: Database,
    selection: Selection,
    facet: Condition | None,
    *,
    first: int,
    most: int,
    but_first: bool = False,
) -> list[dict[str, Any]]:
    tables, wanted, rank = _narrow(selection, facet, but_first=but_first)
    if tables == _FACETS:
        # However far on, only the entries of the stretch are looked up.
        query = (
            f"SELECT {_PLACED} FROM (SELECT entry, rank FROM {_FACETS} WHERE {wanted.sql} "
            "ORDER BY rank LIMIT ? OFFSET ?) AS one CROSS JOIN entries ON entries.id = one.entry "
            "ORDER BY one.rank"
        )
    else:
        query = (
            f"SELECT {_PLACED} FROM {tables} WHERE {wanted.sql} ORDER BY {rank} LIMIT ? OFFSET ?"
        )
    return list(database.query(query, [*wanted.values, most, first]))


def _count(
    database: Database,
    selection: Selection,
    facet: Condition | None,
    *,
    before: int | None = None,
    most: int = -1,
    but_first: bool = False,
) -> int:
    tables, wanted, rank = _narrow(selection, facet, but_first=but_first)
    if before is not None:
        wanted = Condition(f"{wanted.sql} AND {rank} < ?", [*wanted.values, before])
    return _one(
        database,
        f"SELECT count(*) FROM (SELECT 1 FROM {tables} WHERE {wanted.sql} LIMIT ?)",
        *wanted.values,
        most,
    )


def _count_first(database: Database, selection: Selection) -> int:
    """Return how many entries of a list are looked at first."""
    if _list_filters(selection):
        return _count(database, selection, _FIRST)
    return _count_facet(database, "first", "")


def _narrow(
    selection: Selection, facet: Condition | None, *, but_first: bool
) -> tuple[str, Condition, str]:
    """Return from which tables a list comes, what its rows must be, and their rank there.

    A facet is gone through in the order of ranks; its entries are looked up one by one where
    something else is asked of them. Void ones are in none.
    """
    rest = selection
    if facet is None and selection.caution is not None:
        facet = Condition("facet = 'caution' AND facets.value = ?", [selection.caution])
        rest = replace(selection, caution=None)
    elif facet is None and selection.doubted_field is not None:
        facet = Condition("facet = 'doubt' AND facets.value = ?", [selection.doubted_field])
        rest = replace(selection, doubted_field=None)
    wanted = condition_of(rest)
    if but_first:
        wanted = Condition(
            f"{wanted.sql} AND NOT EXISTS (SELECT 1 FROM facets AS one WHERE one.facet = 'first' "
            "AND one.value = '' AND one.rank = entries.rank AND one.entry = entries.id)",
            wanted.values,
        )
    if facet is None:
        return "entries", wanted, "entries.rank"
    if not but_first and not _list_filters(rest):
        return _FACETS, facet, "facets.rank"
    both = Condition(f"{facet.sql} AND {wanted.sql}", [*facet.values, *wanted.values])
    return f"{_FACETS} CROSS JOIN entries ON entries.id = facets.entry", both, "facets.rank"


def _list_filters(selection: Selection) -> list[str]:
    return [
        name
        for name in ("leaf", "status", "doubted_field", "caution", "handler", "day")
        if getattr(selection, name) is not None
    ]


def _count_facet(database: Database, facet: str, value: str) -> int:
    return _one(
        database,
        "SELECT entries FROM facet_counts WHERE facet = ? AND value = ?",
        facet,
        value,
    )


def _one(database: Database, query: str, *values: Any) -> int:
    row = database.execute(query, list(values)).fetchone()
    return int(row[0] or 0) if row is not None else 0
