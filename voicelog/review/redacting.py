"""Redaction: words and sound that must not be kept are taken out, everywhere, for good.

What is left says where something was taken out, by whom and why, never what. The entries that
rested on the words stay, less the words: texts are covered, values that were read from nothing
else are emptied, and places, types and counts stay, so that no object is lost from the log.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from voicelog.domain.act import ActKind
from voicelog.domain.entry import Status
from voicelog.domain.note import Note, locate_words
from voicelog.domain.redaction import RedactedStretch, Redaction, make_masker, widen_to_words
from voicelog.errors import ReviewError
from voicelog.extraction.language.phrases import load_language
from voicelog.extraction.reader import Reader
from voicelog.extraction.tokens import tokenize
from voicelog.recognition.silencing import can_silence, silence
from voicelog.review.acting import Acting, Done
from voicelog.review.keeping import find_unlike, replay
from voicelog.review.redacted_entries import (
    find_cleared,
    is_typed,
    redact_entry,
    rests_on,
)
from voicelog.review.seat import Seat
from voicelog.review.typed_values import clean_text
from voicelog.store.failures import explained
from voicelog.store.log import Log
from voicelog.store.redacting import stretches_by_note
from voicelog.store.writing import WritableLog

MARGIN_S = 0.15
"""Silenced before and after the words: recognisers set the ends of words loosely."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """What is redacted, while it is done.

    Attributes:
        notes: the notes as they were, by number.
        stretches: what is covered in each.
        masker: covers the same words elsewhere.
    """

    notes: Mapping[int, Note]
    stretches: Mapping[int, tuple[RedactedStretch, ...]]
    masker: Callable[[str], str]


class Redacting:
    """Finds and takes out words and their sound.

    Args:
        seat: the log, and who reviews it.
    """

    def __init__(self, seat: Seat) -> None:
        self._seat = seat

    def find(self, words: str) -> tuple[RedactedStretch, ...]:
        """Return every place in the notes where words stand, for the person to choose from.

        Raises:
            ReviewError: words wait outside the notes, where they would not be found.
        """
        wanted = [token.norm for token in tokenize(words) if token.is_word]
        if not wanted:
            return ()
        with Log.open(self._seat.folder) as log:
            _refuse_unread(log)
            return tuple(stretch for note in log.iter_notes() for stretch in _find_in(note, wanted))

    def redactions(self) -> tuple[Redaction, ...]:
        """Return every redaction on record, and whether it is complete."""
        with Log.open(self._seat.folder) as log:
            return tuple(log.iter_redactions())

    def redact(self, stretches: Sequence[RedactedStretch], *, reason: str) -> Done:
        """Take words and their sound out of the log. This can't be undone.

        The words go out of the notes, the entries, their history, what was learnt and the free
        pages of the file; the sound of the words is silenced in the recordings. What was
        exported before is not reached. A redaction that was cut off is finished with this one.

        Args:
            stretches: where the words stand; widened to whole words.
            reason: why, without the words.

        Raises:
            ReviewError: nothing is named, no reason is given, or a recording is of a kind that
                can't be silenced in part.
            StoreError: the log is open elsewhere; what was redacted is, but old pages of the
                file may still hold it until the next attempt.
        """
        why = clean_text("remark", reason)
        if not why:
            raise ReviewError("Say why the words have to go; the reason is kept, they are not.")
        with self._seat.acting() as act:
            _refuse_unread(act.log)
            notes = {note.number: note for note in act.log.iter_notes()}
            wanted = [_widen(notes, stretch) for stretch in stretches]
            if not any(one.last > one.first for one in wanted):
                raise ReviewError("Name the words that have to go.")
            _require_silenceable(act.log, notes, wanted)
            masker = make_masker(
                [one.text for one in wanted], _ordinary_words(self._seat.reader).__contains__
            )
            for stretch in wanted:
                act.log.begin_redaction(
                    stretch,
                    sound_s=_find_sound(notes[stretch.note], stretch),
                    by=act.author.by,
                    at=act.at,
                    reason=masker(why),
                )
            return self._carry_out(act, notes)

    def finish(self) -> Done | None:
        """Finish a redaction that was cut off; None where there is none.

        Raises:
            StoreError: the log is open elsewhere.
        """
        with self._seat.acting() as act:
            if all(one.is_done for one in act.log.iter_redactions()):
                return None
            return self._carry_out(act, {note.number: note for note in act.log.iter_notes()})

    def _carry_out(self, act: Acting, notes: Mapping[int, Note]) -> Done:
        waiting = [one for one in act.log.iter_redactions() if not one.is_done]
        stretches = [_widen(notes, one.stretch) for one in waiting]
        by_note = stretches_by_note(stretches)
        plan = _Plan(
            notes={number: notes[number] for number in by_note},
            stretches=by_note,
            masker=make_masker(
                [one.text for one in stretches], _ordinary_words(self._seat.reader).__contains__
            ),
        )
        _silence_recordings(act.log, notes, waiting)
        _mask_journals(act.log, plan.masker)
        details = {
            "notes": sorted(by_note),
            "characters": sum(one.last - one.first for one in stretches),
            "reason": waiting[-1].reason,
        }
        with act.log.all_or_nothing():
            self._mask_words(act, plan)
            self._keep_entries(act)
            done = act.record(ActKind.REDACT, details=details, remarks=_tell_others(notes, plan))
            self._settle_doubts(act)
            act.log.finish_redactions(done.act)
        act.log.purge()
        return done

    def _mask_words(self, act: Acting, plan: _Plan) -> None:
        masked = {
            number: act.log.mask_note(note, plan.stretches[number])
            for number, note in plan.notes.items()
        }
        touched: dict[str, frozenset[str]] = {}
        for stored in list(act.log.iter_stored(include_void=True)):
            entry = stored.entry
            if not rests_on(entry, masked) and not is_typed(entry, plan.masker):
                continue
            cleared = frozenset(find_cleared(entry, plan.stretches))
            touched[entry.id] = cleared
            act.log.overwrite_entry(redact_entry(entry, cleared, plan.masker, masked))
        act.log.mask_history(touched, plan.masker, notes=masked)

    def _keep_entries(self, act: Acting) -> None:
        """Decide whatever the covered notes would give differently from now on.

        Recorded as decided, the entries come out of every later reading as they are now; what
        a reading would make of words whose beginning is covered is void.
        """
        fresh = replay(act.log, self._seat.reader)
        stored = {one.entry.id: one.entry for one in act.log.iter_stored(include_void=True)}
        for entry in stored.values():
            values = find_unlike(entry, fresh.get(entry.id))
            if values:
                act.decide(entry, values)
        for id_, entry in fresh.items():
            if id_ not in stored and entry.status is not Status.VOID:
                act.make_void(entry)

    def _settle_doubts(self, act: Acting) -> None:
        """Bring doubts and what follows from them in line with the covered notes."""
        fresh = replay(act.log, self._seat.reader)
        for one in list(act.log.iter_stored(include_void=True)):
            read = fresh.get(one.entry.id)
            if read is not None and one.entry.status is not Status.CONFIRMED:
                settled = replace(read, sources=one.entry.sources)
                if settled != one.entry:
                    act.log.overwrite_entry(settled)


def _refuse_unread(log: Log) -> None:
    """Make sure that no words wait outside the notes, where nobody would look for them.

    Raises:
        ReviewError: some do; the sentence says what to do first.
    """
    waiting = sum(1 for _ in log.iter_heard_ahead())
    if waiting:
        what = "1 recording was" if waiting == 1 else f"{waiting} recordings were"
        raise ReviewError(
            f"{what} heard and not read yet, and the words may stand there too; "
            f"let 'voicelog transcribe --log {log.folder}' finish first."
        )


def _widen(notes: Mapping[int, Note], stretch: RedactedStretch) -> RedactedStretch:
    note = notes.get(stretch.note)
    if note is None:
        raise ReviewError(f"There is no note {stretch.note} in the log; load the page again.")
    first, last = widen_to_words(
        note.text, max(0, stretch.first), min(len(note.text), stretch.last)
    )
    return replace(stretch, first=first, last=last, text=note.text[first:last])


def _tell_others(notes: Mapping[int, Note], plan: _Plan) -> tuple[str, ...]:
    """Say where the words stand in notes that nobody named."""
    others = [
        str(note.number)
        for note in notes.values()
        if note.number not in plan.notes and plan.masker(note.text) != note.text
    ]
    if not others:
        return ()
    where = f"note {others[0]}" if len(others) == 1 else f"notes {', '.join(others)}"
    return (f"Words like these stand in {where} too; look there.",)


def _find_in(note: Note, wanted: Sequence[str]) -> Iterable[RedactedStretch]:
    tokens = [token for token in tokenize(note.text) if token.is_word]
    for at in range(len(tokens) - len(wanted) + 1):
        found = tokens[at : at + len(wanted)]
        if [token.norm for token in found] == list(wanted):
            first, last = found[0].first, found[-1].last
            yield RedactedStretch(
                note=note.number, first=first, last=last, text=note.text[first:last]
            )


def _find_sound(note: Note, stretch: RedactedStretch) -> tuple[float, float] | None:
    """Return where the sound of a stretch lies in the note's recording, or None."""
    if note.recording is None or note.start_s is None or note.end_s is None:
        return None
    inside = [
        word
        for first, last, word in locate_words(note)
        if first < stretch.last and last > stretch.first
    ]
    times = [(word.start_s, word.end_s) for word in inside]
    starts = [start for start, _ in times if start is not None]
    ends = [end for _, end in times if end is not None]
    if len(starts) != len(times) or len(ends) != len(times) or not times:
        return note.start_s, note.end_s  # Not known to the word: all of the note.
    return max(0.0, min(starts) - MARGIN_S), max(ends) + MARGIN_S


def _require_silenceable(
    log: WritableLog, notes: Mapping[int, Note], stretches: Iterable[RedactedStretch]
) -> None:
    for stretch in stretches:
        note = notes[stretch.note]
        if note.recording is None:
            continue
        path = log.audio_folder / note.recording
        with explained(log.folder):
            refused = path.is_file() and not can_silence(path)
        if refused:
            raise ReviewError(
                f"Only WAV and FLAC recordings can be silenced in part, and {note.recording} is "
                "neither; remove its sound with 'voicelog audio prune' first, then redact."
            )


def _silence_recordings(
    log: WritableLog, notes: Mapping[int, Note], redactions: Iterable[Redaction]
) -> None:
    stretches: dict[str, list[tuple[float, float]]] = {}
    for one in redactions:
        recording = notes[one.stretch.note].recording
        if recording is not None and one.start_s is not None and one.end_s is not None:
            stretches.setdefault(recording, []).append((one.start_s, one.end_s))
    for file, its_stretches in stretches.items():
        path = log.audio_folder / file
        if not path.is_file():
            continue  # Its sound was removed before.
        with explained(log.folder):
            silence(path, its_stretches)
            sha256, size_bytes = _fingerprint(path), path.stat().st_size
        log.note_silenced(file, sha256=sha256, size_bytes=size_bytes)


def _mask_journals(log: WritableLog, masker: Callable[[str], str]) -> None:
    """Cover the words in the journals of live sessions, which name people and devices."""
    for path in log.audio_folder.glob("*.jsonl"):
        with explained(log.folder):
            text = path.read_text(encoding="utf-8", errors="replace")
            masked = masker(text)
            if masked != text:
                path.write_text(masked, encoding="utf-8")


def _fingerprint(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _ordinary_words(reader: Reader) -> frozenset[str]:
    """Return the words that stand in many entries and give nobody away."""
    language = load_language()
    wordings = [
        *(form for concept in reader.vocabulary.concepts for form in concept.forms()),
        *(one for listed in language.cues.values() for one in listed),
        *(one for listed in language.words.values() for one in listed),
    ]
    return frozenset(token.norm for wording in wordings for token in tokenize(wording))
