"""Recordings that were heard before their turn to be read has come.

Notes are read in the order in which they were said, but recordings may be heard in any order and
several at once. What was heard of one is kept here, so that no recording is ever heard twice,
until its notes are taken down.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass

from sqlite_utils import Database

from voicelog.domain.note import Word
from voicelog.domain.utterance import Utterance
from voicelog.store.rows import format_json


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardAhead:
    """What was heard of a recording and is not read yet.

    Attributes:
        recording: its file in ``audio/``.
        heard_to_s: how far it was heard, in seconds from its beginning.
        is_complete: whether that is its end.
        utterances: what was said, in order.
    """

    recording: str
    heard_to_s: float
    is_complete: bool
    utterances: tuple[Utterance, ...]


def iter_heard_ahead(database: Database) -> Iterator[HeardAhead]:
    """Yield what was heard of each recording, one recording at a time."""
    for row in database.query("SELECT * FROM heard_ahead ORDER BY recording"):
        yield _parse(row)


def find_heard_ahead(database: Database, recording: str) -> HeardAhead | None:
    """Return what was heard of a recording, or None where nothing waits to be read."""
    rows = database.query("SELECT * FROM heard_ahead WHERE recording = ?", [recording])
    return next(map(_parse, rows), None)


def write_heard_ahead(database: Database, heard: HeardAhead) -> None:
    """Write down what was heard of a recording, in the place of what was known of it."""
    database.table("heard_ahead").insert(
        {
            "recording": heard.recording,
            "heard_to_s": heard.heard_to_s,
            "is_complete": int(heard.is_complete),
            "utterances": format_json([asdict(utterance) for utterance in heard.utterances]),
        },
        replace=True,
    )


def forget_heard_ahead(database: Database, recording: str) -> None:
    """Forget what was heard of a recording, because it was read or the recording goes."""
    database.execute("DELETE FROM heard_ahead WHERE recording = ?", [recording])


def _parse(row: dict[str, object]) -> HeardAhead:
    return HeardAhead(
        recording=str(row["recording"]),
        heard_to_s=float(str(row["heard_to_s"])),
        is_complete=bool(row["is_complete"]),
        utterances=tuple(
            Utterance(
                **{
                    **utterance,
                    "words": tuple(Word(**word) for word in utterance["words"]),
                    "alternatives": tuple(utterance["alternatives"]),
                }
            )
            for utterance in json.loads(str(row["utterances"]))
        ),
    )
