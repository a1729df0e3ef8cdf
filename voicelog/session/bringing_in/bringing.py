"""Bringing in a bag, from beginning to end: all of it, or nothing."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from voicelog.domain.act import ActKind
from voicelog.domain.entry import Entry, Status
from voicelog.review.acting import Acting, Author
from voicelog.session.bringing_in.guest_log import Guest
from voicelog.session.bringing_in.meeting import Conflict, Meeting, meet
from voicelog.session.bringing_in.renumbering import number_notes, renumber
from voicelog.store.brought import Brought, Evidence
from voicelog.store.failures import explained
from voicelog.store.folder import ARRIVING_PREFIX, INCOMING_PREFIX, copy_file, sync_names
from voicelog.store.intake import Intake
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.sessions import Session
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import Vocabulary


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtIn:
    """What a bag has brought, or would bring.

    Attributes:
        notes: how many notes are new here.
        entries: how many entries are new here, those left out that are void or were taken
            into one of ours.
        united: how many of its entries were taken into one of ours.
        changed: how many of our entries say more, or something else, now.
        recordings: how many recordings are new here.
        sounds: how many recordings came with their sound.
        twice: recordings that both benches had taken in, by our name.
        conflicts: what the two benches say differently; each is a doubt in the log.
    """

    notes: int
    entries: int
    united: int
    changed: int
    recordings: int
    sounds: int
    twice: tuple[str, ...]
    conflicts: tuple[Conflict, ...]

    @property
    def is_nothing(self) -> bool:
        """Whether everything in the bag was here already."""
        counts = (self.notes, self.entries, self.united, self.changed, self.recordings, self.sounds)
        return not any(counts)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """Everything that is to be done, worked out before anything is."""

    guest: Guest
    meeting: Meeting
    theirs: tuple[Entry, ...]
    notes: tuple[Evidence, ...]
    recordings: tuple[Recording, ...]
    sounds: Mapping[str, Path]
    twice: tuple[str, ...]

    def sum_up(self) -> BroughtIn:
        made = self.meeting.made
        return BroughtIn(
            notes=len(self.notes),
            entries=sum(entry.status is not Status.VOID for entry in made),
            united=sum(entry.id in self.meeting.taken_into for entry in made),
            changed=sum(bool(one.values) for one in self.meeting.decided.values()),
            recordings=len(self.recordings),
            sounds=len(self.sounds),
            twice=self.twice,
            conflicts=self.meeting.conflicts,
        )


def foresee(guest: Guest, log: Log, *, source: str) -> BroughtIn:
    """Return what bringing in a bag would come to; nothing is written.

    Raises:
        BagRefused: a note in it is here with other words.
    """
    return _plan(guest, log, source=source).sum_up()


def bring_in(guest: Guest, log: WritableLog, vocabulary: Vocabulary, *, source: str) -> BroughtIn:
    """Bring the log of a bag into ours.

    Notes, words, recordings and history come as they are, entries with their ids. The notes
    are not read again here: they mean what they meant among the notes that surrounded them.
    How the entries of both stand side by side is written down as one act in the history.

    Args:
        guest: what the bag holds.
        log: our log, caught up with its notes.
        vocabulary: the terms, and which cautions they call for.
        source: what the bag is called, for the history.

    Raises:
        BagRefused: a note in it is here with other words.
        EntryLocked: it would change a volume that is signed off.
        StoreError: the log could not be written; nothing was.
    """
    plan = _plan(guest, log, source=source)
    summary = plan.sum_up()
    if summary.is_nothing and not summary.conflicts:
        return summary
    incoming = _copy_sounds(plan, log)
    try:
        with log.taking_in() as intake:
            _write(plan, intake, log, vocabulary, source=source)
    except BaseException:
        for path in incoming:
            path.unlink(missing_ok=True)
        raise
    # Now that the log knows them; should the process die here, the next writer does it.
    log.finish_arrivals()
    return summary


def _plan(guest: Guest, log: Log, *, source: str) -> _Plan:
    own_log = str(log.facts()["uid"])
    numbers, new_notes = number_notes(guest.notes, log.iter_evidence(), source=source)
    theirs = tuple(renumber(entry, numbers) for entry in guest.entries)
    ours = tuple(entry for _, entry in log.iter_entries(include_void=True))
    # What our own entries were when the other bench got them, else what it had when it last
    # sent a bag.
    before = {**guest.brought.get(own_log, {}), **log.list_brought().get(guest.uid, {})}
    names, new_recordings, twice = _name_recordings(guest.recordings, log)
    removed = {recording.file for recording in log.iter_recordings() if recording.removed_at}
    sounds = {
        names[file]: path
        for file, path in guest.sounds.items()
        if not (log.audio_folder / names[file]).exists() and names[file] not in removed
    }
    return _Plan(
        guest=guest,
        meeting=meet(ours, theirs, before),
        theirs=theirs,
        notes=tuple(
            replace(one, note=replace(one.note, recording=names.get(one.note.recording or "")))
            for one in new_notes
        ),
        recordings=tuple(new_recordings.values()),
        sounds=sounds,
        twice=twice,
    )


def _name_recordings(
    theirs: Iterable[Recording], log: Log
) -> tuple[dict[str, str], dict[str, Recording], tuple[str, ...]]:
    """Find out what each recording is called here.

    Returns:
        their file name to ours; the recordings that are new here by their file name; and our
        names of those that both benches had taken in, each for itself.
    """
    ours = tuple(log.iter_recordings())
    by_uid = {recording.uid: recording for recording in ours}
    by_sound = {recording.sha256: recording for recording in ours if recording.sha256}
    taken = {recording.file for recording in ours}
    names: dict[str, str] = {}
    new: dict[str, Recording] = {}
    twice: list[str] = []
    for recording in theirs:
        known = by_uid.get(recording.uid)
        if known is None and recording.sha256 in by_sound:
            known = by_sound[recording.sha256]
            twice.append(known.file)
        if known is not None:
            names[recording.file] = known.file
            continue
        name = _free_name(recording.file, taken, log.audio_folder)
        taken.add(name)
        names[recording.file] = name
        new[recording.file] = replace(recording, file=name)
    return names, new, tuple(twice)


def _free_name(wanted: str, taken: set[str], folder: Path) -> str:
    stem, dot, suffix = wanted.partition(".")
    name, nth = wanted, 1
    while name in taken or (folder / name).exists():
        nth += 1
        name = f"{stem}-{nth}{dot}{suffix}"
    return name


def _copy_sounds(plan: _Plan, log: Log) -> list[Path]:
    """Copy the sound that comes along, to be named once the log knows it; return the copies."""
    folder = log.audio_folder
    arrived: list[Path] = []
    incoming = folder / f"{INCOMING_PREFIX}{uuid.uuid4().hex}"
    with explained(log.folder):
        try:
            for name, source in plan.sounds.items():
                copy_file(source, incoming)
                arrived.append(incoming.rename(folder / f"{ARRIVING_PREFIX}{name}"))
            sync_names(folder)
        except BaseException:
            for path in (incoming, *arrived):
                path.unlink(missing_ok=True)
            raise
    return arrived


def _write(
    plan: _Plan, intake: Intake, log: WritableLog, vocabulary: Vocabulary, *, source: str
) -> None:
    for session, incidents in plan.guest.sessions:
        intake.add_session(_as_over(session, plan.guest.recordings), incidents)
    for recording in plan.recordings:
        intake.add_recording(recording)
    intake.add_notes(plan.notes)
    by = f"brought in from {source}"
    act = Acting(log, vocabulary, Author(by=by, session=f"bring-in {uuid.uuid4()}"))
    for entry in plan.meeting.made:
        if entry.status is not Status.VOID:
            act.require_unsigned(entry.accession, entry.volume, entry=entry.id)
        act.make(entry)
    for id_, decided in plan.meeting.decided.items():
        entry = act.get(id_)
        act.require_unsigned(entry.accession, entry.volume, entry=entry.id)
        act.decide(entry, decided.values, adds=tuple(decided.doubts))
    act.record(ActKind.BRING_IN, details={"log": plan.guest.uid, "bag": source})
    intake.add_revisions(plan.guest.revisions)
    into = plan.meeting.taken_into
    intake.remember(
        plan.guest.uid,
        (Brought(entry=entry, into=into.get(entry.id)) for entry in plan.theirs),
    )


def _as_over(session: Session, recordings: Iterable[Recording]) -> Session:
    """Return a session of another bench as this log can keep it: over, and without its journal.

    The journal stayed there; with its name kept, the next live session here would look for it.
    """
    if not session.is_under_way:
        return replace(session, journal=None)
    moments = [one.recorded_at or one.taken_at for one in recordings if one.session == session.id]
    last = max([*moments, *filter(None, [session.began_at])], default="")
    return replace(session, journal=None, ended_at=last, broken_off=True)


def tidy_name(source: Path) -> str:
    r"""Return what a bag is called in the history: its file's name, in plain characters.

    >>> tidy_name(Path("/media/stick/green-book.zip")), tidy_name(Path("bag\x1b[2J"))
    ('green-book.zip', 'bag?[2J')
    """
    return re.sub(r"[^\x20-\x7e\xa1-\uffff]", "?", source.resolve().name) or "a bag"
