"""What a whole session left when it was killed: started again, and checked to the sample."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.session.live.bench import spoken_sounds
from tests.session.live.bench_day import BySound
from tests.session.live.doomed_session import TEXTS, make_day
from tests.session.live.dooming import RATE_HZ, let_die, read_tally
from tests.session.live.reading import read_all, read_wav
from tests.session.live.surviving import open_log
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.recognition.audio import probe_recording
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.session.live.recovery import hear_unfinished, settle
from voicelog.session.live.sources import Pcm
from voicelog.session.scribe import Scribe
from voicelog.store.folder import is_log_folder
from voicelog.store.log import Log


@dataclass(frozen=True, slots=True, kw_only=True)
class Survival:
    """What was at stake in one session, and what is left of it.

    Attributes:
        said_s: how much sound had come from the microphone.
        lost_s: how much of it is not in the files.
        taken: how many notes had been taken down.
        recovered: how many more were heard at the next start.
    """

    said_s: float
    lost_s: float
    taken: int
    recovered: int


def let_sessions_die(folder: Path, seeds: range, how: str) -> None:
    """Let a session sit down for each seed, and end it by ``kill`` or ``power``."""
    let_die("tests.session.live.doomed_session", folder, seeds, how)


def start_again(place: Path, seed: int, reader: Reader) -> Survival:
    """Start again after a session died, and check everything that it left.

    Every sample in the files was said, in its place. Every note taken down is there, and
    at the next start every other one whose sound was saved; none is there twice. Every
    file is whole, the database too.
    """
    tally, folder = read_tally(place), place / "log"
    if not is_log_folder(folder):
        assert tally.said == 0
        return Survival(said_s=0.0, lost_s=0.0, taken=0, recovered=0)
    with open_log(folder) as log:
        logbook = Logbook(reader)
        scribe = Scribe(log, logbook)
        scribe.catch_up(reason="a test")
        before = log.count_notes()
        hearing = Hearing(recogniser=BySound(spoken_sounds(), TEXTS), segments=SegmentOptions())
        recovered = hear_unfinished(settle(log), scribe, hearing)
        texts = [note.text for note in log.iter_notes()]
        check_files(log)
    day = make_day(seed)
    kept = read_all(folder / "audio")
    said: Pcm = np.concatenate([np.zeros(0, np.int16), *day.iter_blocks()])[: tally.said]
    assert np.array_equal(kept, said[: len(kept)])
    assert texts == [TEXTS[spoken.sound] for spoken in day.said[: len(texts)]]
    # The kill may come between storing a note and counting it.
    assert tally.notes <= before <= tally.notes + 1
    whole = sum(spoken.end <= len(kept) for spoken in day.said)
    # Of a note that was being spoken, its beginning may have been enough to hear it; of a
    # note taken down whose sound a power cut took, the words are there all the same.
    assert max(whole, before) <= len(texts) <= max(whole + 1, before), f"seed {seed}"
    return Survival(
        said_s=len(said) / RATE_HZ,
        lost_s=(len(said) - len(kept)) / RATE_HZ,
        taken=tally.notes,
        recovered=recovered,
    )


def check_files(log: Log) -> None:
    """Check that every file of a log is whole, and known to the log as it is."""
    recordings = {recording.file: recording for recording in log.iter_recordings()}
    assert set(recordings) == {path.name for path in log.audio_folder.glob("*.wav")}
    for recording in recordings.values():
        path = log.audio_folder / recording.file
        assert recording.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
        assert recording.duration_s == round(len(read_wav(path)) / RATE_HZ, 4)
        assert recording.finished_at is not None
        if recording.duration_s:
            assert probe_recording(path).damage is None
    assert not list(log.audio_folder.glob(".*"))
    other = sqlite3.connect(log.folder / "log.sqlite")
    assert other.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert other.execute("PRAGMA foreign_key_check").fetchall() == []
    other.close()
    assert all(not session.is_under_way for session in log.iter_sessions())


def describe(survivals: Sequence[Survival]) -> str:
    """Return what many sessions lost, in one line."""
    return (
        f"{len(survivals):4} sessions, {sum(one.said_s for one in survivals):7.1f} s said; "
        f"lost at most {max(one.lost_s for one in survivals):.3f} s; "
        f"{sum(one.taken for one in survivals)} notes taken down, "
        f"{sum(one.recovered for one in survivals)} more heard at the next start"
    )
