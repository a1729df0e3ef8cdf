"""Which recordings' sound may go by a repository's rule, and removing it on record."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from voicelog.domain.entry import Status
from voicelog.domain.retention import KeepSound, Retention, format_retention
from voicelog.store.failures import explained
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.writing import WritableLog

_DECIDED = frozenset({Status.CONFIRMED, Status.VOID})


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundVerdict:
    """What a rule says about the sound of one recording.

    Attributes:
        recording: the recording.
        goes: whether its sound is to be removed.
        why: the reason, in plain words.
        size_bytes: how much room it takes.
    """

    recording: Recording
    goes: bool
    why: str
    size_bytes: int


def judge_sound(log: Log, retention: Retention, *, now: datetime) -> tuple[SoundVerdict, ...]:
    """Say of every recording whose sound is still kept whether it may go, and why.

    Sound that was not heard to its end, or that belongs to a session of which anything is
    unfinished, stays by every rule.

    Args:
        log: the log; nothing in it changes.
        retention: the rule.
        now: the moment from which days are counted back, with its zone.

    Raises:
        StoreError: the log can't be read.
    """
    recordings = tuple(log.iter_recordings())
    busy = {session.id for session in log.iter_sessions() if session.is_under_way}
    unread = {recording.session for recording in recordings if recording.finished_at is None}
    statuses = log.count_statuses_by_recording()
    verdicts = []
    for recording in recordings:
        if recording.removed_at is not None:
            continue
        path = log.audio_folder / recording.file
        with explained(log.folder):
            size_bytes = path.stat().st_size if path.is_file() else None
        if size_bytes is None:
            stays: str | None = "its file is not in the log's folder"
        else:
            stays = _find_obstacle(recording, busy=busy, unread=unread)
        goes, why = (
            (False, stays)
            if stays is not None
            else _apply(retention, recording, statuses.get(recording.file, Counter()), now)
        )
        verdicts.append(
            SoundVerdict(recording=recording, goes=goes, why=why, size_bytes=size_bytes or 0)
        )
    return tuple(verdicts)


def remove_sound(
    log: WritableLog, verdicts: Iterable[SoundVerdict], retention: Retention
) -> tuple[SoundVerdict, ...]:
    """Remove the sound that may go; what was heard in it, and that it was removed, is kept.

    Returns:
        the verdicts that were carried out.

    Raises:
        StoreError: a file or the log could not be written; what was removed by then is on
            record.
    """
    going = tuple(verdict for verdict in verdicts if verdict.goes)
    for verdict in going:
        log.remove_sound(verdict.recording.file, rule=format_retention(retention))
    return going


def _find_obstacle(recording: Recording, *, busy: set[str], unread: set[str | None]) -> str | None:
    """Return why the sound stays whatever the rule says, or None."""
    if recording.session in busy:
        return (
            "its session has not ended; if nobody records just now, 'voicelog listen' completes it"
        )
    if recording.finished_at is None:
        return "not all of it has been heard yet"
    if recording.session is not None and recording.session in unread:
        return "another recording of its session has not been heard to its end yet"
    return None


def _apply(
    retention: Retention, recording: Recording, statuses: Counter[Status], now: datetime
) -> tuple[bool, str]:
    """Return whether the rule lets the sound go, and why."""
    match retention.keep:
        case KeepSound.ALWAYS:
            return False, "the setting audio_retention is 'keep'"
        case KeepSound.UNTIL_CONFIRMED:
            return _judge_confirmed(statuses)
        case KeepSound.FOR_DAYS:
            return _judge_age(retention, recording, statuses, now)


def _judge_confirmed(statuses: Counter[Status]) -> tuple[bool, str]:
    if open_ones := _count_open(statuses):
        return False, f"{_say_open(open_ones)}"
    if not statuses:
        # Nobody has looked at what came of it: what was misheard could still be in there.
        return False, "no entry rests on it, so nobody has confirmed what was heard"
    return True, f"every entry resting on it is confirmed or void ({statuses.total()})"


def _judge_age(
    retention: Retention, recording: Recording, statuses: Counter[Status], now: datetime
) -> tuple[bool, str]:
    goes_at = datetime.fromisoformat(recording.taken_at) + timedelta(days=retention.days)
    if now < goes_at:
        return False, f"it is kept until {goes_at:%Y-%m-%d}"
    why = f"taken in on {recording.taken_at[:10]}, more than {format_retention(retention)} ago"
    if open_ones := _count_open(statuses):
        why += f"; {_say_open(open_ones)}"
    return True, why


def _count_open(statuses: Counter[Status]) -> int:
    return sum(count for status, count in statuses.items() if status not in _DECIDED)


def _say_open(count: int) -> str:
    if count == 1:
        return "1 entry that rests on it is not confirmed yet"
    return f"{count} entries that rest on it are not confirmed yet"
