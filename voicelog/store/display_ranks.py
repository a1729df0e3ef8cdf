"""Births and ranks: in which order entries came into being, and in which they are shown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from sqlite_utils import Database

from voicelog.domain.display_order import in_display_order
from voicelog.domain.entry import Kind, Side
from voicelog.domain.shelf import VolumeKey
from voicelog.store.order_schema import PLACES_IN_A_VOLUME_BITS


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ranked:
    id: str
    birth: int
    rank: int
    kind: Kind
    accession: str | None
    volume: str | None
    leaf: str | None
    side: Side | None
    item: int | None


def next_birth(database: Database) -> int:
    """Return the birth of the next entry that comes into being."""
    (last,) = database.execute("SELECT coalesce(max(birth), 0) FROM entries").fetchone()
    return int(last) + 1


def settle_births(database: Database, order: Sequence[str]) -> bool:
    """Bring births in line with the order in which a whole reading gives the entries.

    Entries that are not in the order keep their place among the others.

    Returns:
        whether a birth has changed.
    """
    stored = dict(database.execute("SELECT id, birth FROM entries ORDER BY birth"))
    wanted = [id_ for id_ in order if id_ in stored]
    births = [stored[id_] for id_ in wanted]
    if all(one < following for one, following in pairwise(births)):
        return False
    given = set(wanted)
    followers: dict[str | None, list[str]] = {}
    before: str | None = None
    for id_ in stored:
        if id_ in given:
            before = id_
        else:
            followers.setdefault(before, []).append(id_)
    settled = list(followers.get(None, ()))
    for id_ in wanted:
        settled += [id_, *followers.get(id_, ())]
    for birth, id_ in enumerate(settled, start=1):
        if stored[id_] != birth:
            database.execute("UPDATE entries SET birth = ? WHERE id = ?", [birth, id_])
    return True


def settle_all_ranks(database: Database) -> None:
    """Bring the ranks of all entries in line with their places."""
    keys = database.execute("SELECT accession, volume FROM volume_counts").fetchall()
    settle_ranks(database, keys)


def settle_ranks(database: Database, volumes: Iterable[VolumeKey]) -> None:
    """Bring the ranks of the entries of some volumes in line with their places."""
    for accession, volume in dict.fromkeys(volumes):
        rows = [
            _read(row)
            for row in database.query(
                "SELECT id, birth, rank, kind, accession, volume, leaf, side, item FROM entries "
                "WHERE accession IS ? AND volume IS ? ORDER BY birth",
                [accession, volume],
            )
        ]
        if not rows:
            continue
        first = rows[0].birth << PLACES_IN_A_VOLUME_BITS
        for rank, row in enumerate(in_display_order(rows), start=first):
            if row.rank != rank:
                database.execute("UPDATE entries SET rank = ? WHERE id = ?", [rank, row.id])


def _read(row: dict[str, Any]) -> _Ranked:
    side = None if row["side"] is None else Side(row["side"])
    return _Ranked(**{**row, "kind": Kind(row["kind"]), "side": side})
