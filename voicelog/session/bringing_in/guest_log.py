"""Everything that a bag's log says, read and looked through before any of it is used."""

from __future__ import annotations

import hashlib
import json
import re
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, fields
from pathlib import Path
from types import MappingProxyType
from typing import Any

from voicelog.domain.entry import Doubt, Entry, Relation
from voicelog.domain.note import Span
from voicelog.errors import BagRefused, LogFromNewerVersion, StoreError
from voicelog.session.bringing_in.bag_folder import BagFolder
from voicelog.store.brought import Brought, Evidence
from voicelog.store.folder import AUDIO_NAME, DATABASE_NAME
from voicelog.store.guest import open_guest
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.sessions import Incident, Session

MOST_NOTES = 1_000_000
LONGEST_TEXT = 1_000_000
LARGEST_NUMBER = 1_000_000_000
"""Far above what anybody says; what is above it would only be there to do harm."""

_LISTS: Mapping[str, type] = MappingProxyType(
    {
        "item_type": str,
        "attachment": str,
        "condition": str,
        "action": str,
        "cautions": str,
        "images": int,
        "notes": int,
        "doubts": Doubt,
        "relations": Relation,
    }
)
_NUMBERS = frozenset({"item", "quantity", "leaves"})
_TEXTS = frozenset(
    {
        "accession", "volume", "volume_name", "leaf", "enclosure", "caption", "date", "position",
        "mark", "binding", "support", "overlay", "remark", "recorded_at", "handler",
    }
)  # fmt: skip
_FILE_NAME = re.compile(r"[A-Za-z0-9_][A-Za-z0-9._-]{0,199}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Guest:
    """The log in a bag.

    Attributes:
        uid: its id.
        notes: its notes, those that came to it from elsewhere too, in its order.
        entries: its entries in display order, void ones last.
        recordings: its recordings.
        sounds: the files in the bag that hold a recording's sound, by the recording's file.
        sessions: its sessions, each with what befell it.
        revisions: every change of a value.
        brought: as what entries of other logs came to it, by log and id.
    """

    uid: str
    notes: tuple[Evidence, ...]
    entries: tuple[Entry, ...]
    recordings: tuple[Recording, ...]
    sounds: Mapping[str, Path]
    sessions: tuple[tuple[Session, tuple[Incident, ...]], ...]
    revisions: tuple[Mapping[str, Any], ...]
    brought: Mapping[str, Mapping[str, Brought]]


@contextmanager
def _explained(source: Path) -> Iterator[None]:
    """Turn whatever a strange database makes our readers raise into a refusal."""
    try:
        yield
    except BagRefused:
        raise
    except (LogFromNewerVersion, StoreError) as failure:
        raise _refused(str(failure).rstrip("."), source) from failure
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, OverflowError) as failure:
        what = f"{type(failure).__name__}: {str(failure)[:80]}"
        raise _refused(f"something in its log makes no sense ({what})", source) from failure
    except RecursionError as failure:
        raise _refused("something in its log is nested without end", source) from failure


def read_guest(bag: BagFolder) -> Guest:
    """Return the log that a bag holds, once it was found to be in order itself.

    Raises:
        BagRefused: it holds no log, or one that a voicelog can't have made.
    """
    database = bag.payload(DATABASE_NAME)
    if database is None:
        raise _refused(f"there is no {DATABASE_NAME} in its data folder", bag.source)
    with (
        tempfile.TemporaryDirectory(prefix="voicelog-guest-") as scratch,
        _explained(bag.source),
        open_guest(database, Path(scratch)) as log,
    ):
        guest = _read(log, bag)
        _check(guest, bag.source)
    return guest


def _read(log: Log, bag: BagFolder) -> Guest:
    if log.count_notes() > MOST_NOTES:
        raise _refused(f"its log has more than {MOST_NOTES} notes", bag.source)
    recordings = tuple(log.iter_recordings())
    sounds = {}
    for recording in recordings:
        sound = bag.payload(f"{AUDIO_NAME}/{recording.file}")
        if sound is not None and _FILE_NAME.fullmatch(recording.file):
            sounds[recording.file] = sound
    return Guest(
        uid=str(log.facts()["uid"]),
        notes=tuple(log.iter_evidence()),
        entries=tuple(entry for _, entry in log.iter_entries(include_void=True)),
        recordings=recordings,
        sounds=sounds,
        sessions=tuple((one, log.find_incidents(one)) for one in log.iter_sessions()),
        revisions=tuple(log.iter_revisions()),
        brought=log.list_brought(),
    )


def _check(guest: Guest, source: Path) -> None:
    """Refuse what our own programs never write, whatever the tables allow."""
    files = {recording.file for recording in guest.recordings}
    for recording in guest.recordings:
        if not _FILE_NAME.fullmatch(recording.file):
            raise _refused(f"a recording in its log is called {recording.file!r}", source)
        if not recording.sha256:
            raise _refused(
                f"its recording {recording.file} was not finished when the bag was made; "
                "end the session there, or begin it again to have it finished",
                source,
            )
        sound = guest.sounds.get(recording.file)
        if sound is not None and _fingerprint(sound) != recording.sha256:
            raise _refused(f"the sound of {recording.file} is not the one in its log", source)
    numbers = [evidence.note.number for evidence in guest.notes]
    if numbers != sorted(set(numbers)) or (numbers and numbers[0] < 1):
        raise _refused("the numbers of its notes are not in order", source)
    known = frozenset(numbers)
    for evidence in guest.notes:
        note = evidence.note
        _check_id(note.uid, source)
        _check_id(evidence.log, source)
        if note.recording is not None and note.recording not in files:
            raise _refused(f"note {note.number} in its log has no recording", source)
        if not all(isinstance(one, str) for one in note.alternatives):
            raise _refused(f"note {note.number} in its log is of a strange kind", source)
        if len(note.text) > LONGEST_TEXT:
            raise _refused(f"note {note.number} in its log is far too long", source)
    for entry in guest.entries:
        _check_entry(entry, known, source)
    for revision in guest.revisions:
        json.loads(revision["before"])
        json.loads(revision["after"])


def _check_entry(entry: Entry, notes: frozenset[int], source: Path) -> None:
    _check_id(entry.id, source)
    behind = set(entry.notes)
    for origin in entry.sources.values():
        if isinstance(origin, tuple):
            behind |= {span.note for span in origin if isinstance(span, Span)}
    if not behind <= notes:
        raise _refused(f"entry {entry.id} in its log rests on notes that aren't there", source)
    for field in fields(entry):
        if not _is_of_its_kind(field.name, getattr(entry, field.name)):
            raise _refused(f"{field.name} of entry {entry.id} is of a strange kind", source)
        for value in _flatten(getattr(entry, field.name)):
            if isinstance(value, str) and len(value) > LONGEST_TEXT:
                raise _refused(f"{field.name} of entry {entry.id} is far too long", source)
            is_number = isinstance(value, int | float)
            if is_number and not -LARGEST_NUMBER <= value <= LARGEST_NUMBER:
                raise _refused(f"{field.name} of entry {entry.id} is out of all bounds", source)


def _is_of_its_kind(name: str, value: Any) -> bool:
    """Say whether a value is of the type that :class:`Entry` declares for its field."""
    if name in _LISTS:
        part = _LISTS[name]
        return isinstance(value, tuple) and all(type(one) is part for one in value)
    if name in _NUMBERS:
        return value is None or type(value) is int
    if name in _TEXTS:
        return value is None or isinstance(value, str)
    if name == "dimensions":
        are_sizes = isinstance(value, tuple) and all(isinstance(one, float) for one in value)
        return value is None or (are_sizes and len(value) == 2)
    return True  # closed choices, which the reading has checked


def _flatten(value: Any) -> Iterator[Any]:
    if isinstance(value, tuple):
        for part in value:
            yield from _flatten(part)
    else:
        yield value


def _check_id(id_: str, source: Path) -> None:
    if not re.fullmatch(r"[\x21-\x7e]{1,100}", id_):
        raise _refused(f"{id_[:40]!r} in its log is no id", source)


def _fingerprint(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _refused(why: str, source: Path) -> BagRefused:
    return BagRefused(
        f"The bag {source} is refused: {why}. Nothing was brought in.", source=str(source)
    )
