"""Where reading has come to, kept in the log; and the shelf on which it finds the entries."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from types import MappingProxyType
from typing import Any

from sqlite_utils import Database

from voicelog.domain.bookmark import Bookmark, Frame
from voicelog.domain.context import Context, OpenCaption
from voicelog.domain.entry import Entry, Side
from voicelog.domain.mark import carries_mark
from voicelog.domain.shelf import Shelved, VolumeKey
from voicelog.store.act_rows import parse_entry, plain_entry
from voicelog.store.display_ranks import next_birth
from voicelog.store.rows import format_json, parse_origin, row_to_entry


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptReading:
    """Where reading has come to: right behind a note, before the acts that follow it.

    Attributes:
        note: the number of that note.
        act: the number of the last act that the log held when this was kept.
        way: a digest of all that decides how notes are read.
        bookmark: what reading goes on from.
        otherwise: the entries that the notes give otherwise than they are stored, by their
            ids; None for those that they don't give.
    """

    note: int
    act: int
    way: str
    bookmark: Bookmark
    otherwise: Mapping[str, Entry | None] = field(default_factory=lambda: MappingProxyType({}))


def find_kept(database: Database) -> KeptReading | None:
    """Return where reading has come to, without the entries; None where nobody knows."""
    row = next(iter(database.query("SELECT * FROM kept_reading")), None)
    if row is None:
        return None
    frames = database.query("SELECT note, context, before FROM kept_frames ORDER BY rank")
    return KeptReading(
        note=row["note"],
        act=row["act"],
        way=row["way"],
        bookmark=Bookmark(
            context=_parse_context(row["context"]), frames=tuple(map(_parse_frame, frames))
        ),
    )


def is_any_otherwise(database: Database, entries: Collection[str]) -> bool:
    """Whether the notes give one of some entries otherwise than it is stored."""
    (found,) = database.execute(
        "SELECT EXISTS (SELECT 1 FROM kept_entries "
        "WHERE entry IN (SELECT value FROM json_each(?)))",
        [json.dumps(sorted(entries))],
    ).fetchone()
    return bool(found)


def keep_whole(database: Database, kept: KeptReading) -> None:
    """Keep where a reading of all notes has come to."""
    forget_kept(database)
    database.execute("DELETE FROM kept_entries")
    _keep_place(database, kept)
    _add_frames(database, kept.bookmark.frames)
    database.table("kept_entries").insert_all(
        {"entry": id_, "as_read": None if entry is None else format_json(plain_entry(entry))}
        for id_, entry in kept.otherwise.items()
    )


def keep_next(database: Database, kept: KeptReading, *, changed: Iterable[str]) -> None:
    """Keep where reading has come to with one more note.

    Args:
        database: holds where it had come to before.
        kept: where it has come to now.
        changed: the ids of the entries that were stored as the note gives them.
    """
    _keep_place(database, kept)
    earlier = [frame.note for frame in kept.bookmark.frames if frame.note < kept.note]
    # Striking takes frames from the end, forgetting takes them from the beginning.
    first, last = (earlier[0], earlier[-1]) if earlier else (kept.note, -1)
    database.execute("DELETE FROM kept_frames WHERE note < ? OR note > ?", [first, last])
    _add_frames(database, [frame for frame in kept.bookmark.frames if frame.note == kept.note])
    for id_ in changed:
        database.execute("DELETE FROM kept_entries WHERE entry = ?", [id_])


def forget_kept(database: Database) -> None:
    """Forget where reading had come to, so that the next writer reads all notes."""
    for table in ("kept_reading", "kept_frames", "kept_entries"):
        database.execute(f"DELETE FROM {table}")  # noqa: S608 - names of ours


class StoredShelf:
    """The entries of a log as its notes give them, each found when it is asked for."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def next_birth(self) -> int:
        """Return a number beyond every birth on the shelf."""
        return next_birth(self._database)

    def find(self, entry_id: str) -> Shelved | None:
        """Return an entry, void or not; None where the notes don't give it."""
        return next(self._iter("entries.id = ?", entry_id), None)

    def of_volume(self, key: VolumeKey) -> Iterable[Shelved]:
        """Return the entries of a volume, void ones too."""
        return tuple(self._iter("accession IS ? AND volume IS ?", *key))

    def volume_entries(self, accession: str | None) -> Iterable[Shelved]:
        """Return the entries that describe volumes of an accession."""
        return tuple(self._iter("accession IS ? AND kind = 'volume'", accession))

    def marked(self, mark: str) -> Iterable[str]:
        """Return the ids of the entries whose object carries a mark."""
        return tuple(one.entry.id for one in self._iter("mark = ?", mark) if one.mark == mark)

    def volumes(self) -> Iterable[VolumeKey]:
        """Return all volumes."""
        return tuple(self._database.execute("SELECT accession, volume FROM volume_counts"))

    def _iter(self, condition: str, *values: Any) -> Iterator[Shelved]:
        rows = self._database.query(
            "SELECT entries.*, kept_entries.entry IS NOT NULL AS is_otherwise, as_read "  # noqa: S608
            "FROM entries LEFT JOIN kept_entries ON kept_entries.entry = entries.id "
            f"WHERE {condition} ORDER BY birth",
            list(values),
        )
        for row in list(rows):
            if row["is_otherwise"] and row["as_read"] is None:
                continue
            stored = self._read(row)
            yield Shelved(
                entry=parse_entry(json.loads(row["as_read"])) if row["as_read"] else stored,
                birth=row["birth"],
                mark=stored.mark if carries_mark(stored) else None,
            )

    def _read(self, row: Mapping[str, Any]) -> Entry:
        origins = self._database.execute(
            "SELECT field, origin FROM field_values WHERE entry = ?", [row["id"]]
        )
        return row_to_entry(row, {name: parse_origin(text) for name, text in origins})


def _keep_place(database: Database, kept: KeptReading) -> None:
    database.execute(
        "INSERT OR REPLACE INTO kept_reading (only, note, act, way, context) "
        "VALUES (1, ?, ?, ?, ?)",
        [kept.note, kept.act, kept.way, _format_context(kept.bookmark.context)],
    )


def _add_frames(database: Database, frames: Sequence[Frame]) -> None:
    database.table("kept_frames").insert_all(
        {
            "note": frame.note,
            "context": _format_context(frame.context),
            "before": format_json(
                {
                    id_: None if entry is None else plain_entry(entry)
                    for id_, entry in frame.before.items()
                }
            ),
        }
        for frame in frames
    )


def _parse_frame(row: Mapping[str, Any]) -> Frame:
    before = json.loads(row["before"])
    return Frame(
        note=row["note"],
        context=_parse_context(row["context"]),
        before={
            id_: None if plain is None else parse_entry(plain) for id_, plain in before.items()
        },
    )


def _format_context(context: Context) -> str:
    return format_json(asdict(context))


def _parse_context(text: str) -> Context:
    plain = json.loads(text)
    caption = plain.pop("open_caption")
    side = plain.pop("side")
    values: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value for name, value in plain.items()
    }
    return Context(
        **values,
        side=None if side is None else Side(side),
        open_caption=None if caption is None else OpenCaption(**caption),
    )
