"""Reading what was heard: notes are taken down in the order of the recordings, none twice."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.domain.utterance import Utterance
from voicelog.session.bulk.outcome import BulkWatcher
from voicelog.session.scribe import Scribe
from voicelog.store.heard_ahead import HeardAhead
from voicelog.store.recording import Recording


def find_unread(recording: Recording, heard: HeardAhead) -> tuple[Utterance, ...]:
    """Return what was heard of a recording and is not among the notes yet."""
    return tuple(one for one in heard.utterances if (one.end_s or 0.0) > recording.heard_to_s)


def iter_read(
    recording: Recording, heard: HeardAhead, scribe: Scribe, watcher: BulkWatcher
) -> Iterator[int]:
    """Take down what was heard of a recording and is not among the notes; yield as it goes on.

    Each note is stored together with how far the recording is read with it, so that after an
    interruption at any moment the same call goes on behind the last note.

    Args:
        recording: the recording as the log has it.
        heard: what was heard of it.
        scribe: takes the notes down.
        watcher: is told of each note.

    Yields:
        the number of each note once it is stored.

    Raises:
        StoreError: the log could not be written; notes stored so far are safe.
    """
    for utterance in find_unread(recording, heard):
        note, entries = scribe.take_down(utterance, heard_to_s=utterance.end_s)
        watcher.taken(note, entries)
        yield note.number
