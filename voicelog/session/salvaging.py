"""A new log made of what can still be read of a damaged one: notes, acts, entries, sound."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from voicelog.domain.act import ActKind
from voicelog.domain.entry import Doubt, Entry, Status
from voicelog.errors import EntryLocked, UnreadableRecording
from voicelog.extraction.reader import Reader
from voicelog.recognition.audio import probe_recording
from voicelog.review.acting import Acting, Author
from voicelog.review.keeping import find_unlike, replay
from voicelog.session.live.journal import JOURNAL_SUFFIX
from voicelog.session.scribe import Scribe
from voicelog.store.failures import explained
from voicelog.store.folder import INCOMING_PREFIX, copy_file, sync_names
from voicelog.store.recording import Recording
from voicelog.store.salvage.rebuilding import Losses
from voicelog.store.soundness import fingerprint
from voicelog.store.writing import WritableLog, now_text

READ_ANEW = (
    "what the log had of it was lost by damage; it was read anew from its notes, so look at it"
)
_REASON = "salvaged from a damaged log"


@dataclass(frozen=True, slots=True, kw_only=True)
class Salvaged:
    """What a salvaged log holds.

    Attributes:
        notes: how many notes, without those that are lost.
        entries: how many entries, void ones left out.
        acts: how many acts of review.
        recordings: how many recordings with their sound.
        read_anew: how many entries were lost and came out of reading the notes again.
        kept: how many entries are kept as they were although notes of theirs are lost.
        adopted: recordings of which the damaged log no longer knew; not heard to their end.
        unreadable: files in ``audio/`` that could not be copied, or are no sound.
    """

    notes: int
    entries: int
    acts: int
    recordings: int
    read_anew: int
    kept: int
    adopted: tuple[str, ...]
    unreadable: tuple[str, ...]


def copy_sound(source: Path, target: Path) -> tuple[str, ...]:
    """Copy every file of a damaged log's ``audio/`` that can be read.

    Returns:
        the names of those that can't.

    Raises:
        DiskFull: there is no room for them.
        StoreError: the copies could not be written.
    """
    unreadable = []
    for path in sorted(source.iterdir()) if source.is_dir() else ():
        if path.name.startswith(INCOMING_PREFIX) or not path.is_file():
            continue
        if not _is_readable(path):
            unreadable.append(path.name)
            continue
        with explained(target.parent):
            copy_file(path, target / path.name)
    with explained(target.parent):
        sync_names(target)
    return tuple(unreadable)


def adopt_recordings(log: WritableLog) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Put into the log the recordings that lie in ``audio/`` and that it knows nothing of.

    Each is heard as far as the notes say, so that taking it in again goes on behind them.

    Returns:
        the files that are in the log now, and those that are no sound.
    """
    known = {one.file: one for one in log.iter_recordings()}
    adopted, strange = [], []
    for path in sorted(log.audio_folder.iterdir()):
        row = known.get(path.name)
        is_known = row is not None and row.size_bytes > 0
        if is_known or path.suffix == JOURNAL_SUFFIX or (row is not None and not row.sha256):
            continue
        try:
            facts = probe_recording(path)
        except UnreadableRecording:
            strange.append(path.name)
            continue
        heard_to_s = row.heard_to_s if row is not None else 0.0
        log.put_recording_right(
            Recording(
                file=path.name,
                uid=row.uid if row is not None else str(uuid.uuid4()),
                original_name=path.name,
                sha256=fingerprint(path),
                size_bytes=path.stat().st_size,
                taken_at=now_text(),
                duration_s=facts.duration_s,
                sample_rate_hz=facts.sample_rate_hz,
                channels=facts.channels,
                codec=facts.codec,
                recorded_at=facts.recorded_at,
                heard_to_s=heard_to_s,
            )
        )
        adopted.append(path.name)
    return tuple(adopted), tuple(strange)


def understand_again(
    scribe: Scribe, reader: Reader, losses: Losses, *, made_by: str
) -> tuple[int, int]:
    """Bring entries and evidence together again: what is lost is read anew, the rest stays.

    Where notes or acts are lost, reading the others would give places and values that nobody
    said. So what the log still has of an entry is put on record as decided; entries of which it
    has nothing any more are queried.

    Args:
        scribe: sits at the new log.
        reader: reads its notes.
        losses: what could not be saved.
        made_by: this program and its version, as the author of what is decided.

    Returns:
        how many entries were read anew, and how many were kept by decision.
    """
    log = scribe.log
    author = Author(by=made_by, session=str(uuid.uuid4()))
    kept = 0
    before = log.versions().keys()
    struck = {state.note.number for state in log.iter_note_states() if state.struck}
    if not losses.is_evidence_whole:
        act = Acting(log, reader.vocabulary, author)
        fresh = replay(log, reader)
        for one in list(log.iter_stored(include_void=True)):
            entry = one.entry
            values = find_unlike(entry, fresh.get(entry.id))
            if not values or entry.status is Status.CONFIRMED:
                continue  # Confirmed entries stay as they are by every reading.
            doubts = tuple(doubt for doubt in entry.doubts if doubt.field in values)
            # A volume that was signed off is locked; it stays as it is anyway.
            with suppress(EntryLocked):
                act.decide(entry, values, adds=doubts)
                kept += 1
        act.record(ActKind.SALVAGE, details=_describe(losses))
    scribe.catch_up(reason=_REASON)
    new = [
        one.entry
        for one in log.iter_stored(include_void=True)
        # What is known to have been struck never was an entry to anybody.
        if one.entry.id not in before and not struck.issuperset(one.entry.notes)
    ]
    if new and not losses.is_evidence_whole:
        _query(Acting(log, reader.vocabulary, author), new)
    return len(new), kept


def _query(act: Acting, entries: Iterable[Entry]) -> None:
    for entry in entries:
        # One that only a misplaced "strike that" would strike is not lost for it.
        values = {"status": Status.HEARD} if entry.status is Status.VOID else {}
        with suppress(EntryLocked):
            act.decide(act.get(entry.id), values, adds=(Doubt(message=READ_ANEW),))
    act.record(ActKind.SALVAGE)


def _describe(losses: Losses) -> dict[str, object]:
    return {
        "notes": list(losses.notes),
        "notes_from_words": list(losses.notes_from_words),
        "acts": list(losses.acts),
        "acts_in_part": list(losses.acts_in_part),
    }


def _is_readable(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            while stream.read(1 << 20):
                pass
    except OSError:
        return False
    return True
