"""From recordings to notes: nothing heard twice, nothing lost, nothing invented."""

from __future__ import annotations

import errno
import hashlib
import os
import subprocess
import sys
import wave
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from voicelog.errors import DiskFull, UnreadableRecording, UnusableInput
from voicelog.recognition.audio import probe_recording
from voicelog.recognition.recogniser import Heard, Segment
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.session.recordings import Watcher, take_recording
from voicelog.session.safekeeping import copy_recording, make_safe_name, settle_copy
from voicelog.session.scribe import Scribe
from voicelog.store.writing import WritableLog
from voicelog.testing import PlainLogbook, ScriptedRecogniser

DEMO = Path(__file__).parents[2] / "demo_data" / "recordings" / "3-green-book-end.flac"
SCRIPT = tuple(f"note number {nth}" for nth in range(1, 40))


class Unplugged:
    """A recogniser that is interrupted after a few notes."""

    engine = "scripted"
    model = "script"

    def __init__(self, after: int) -> None:
        self._scripted = ScriptedRecogniser(SCRIPT)
        self._left = after

    def recognise(self, segment: Segment) -> Heard:
        if self._left == 0:
            raise KeyboardInterrupt
        self._left -= 1
        return self._scripted.recognise(segment)


@pytest.fixture
def log(tmp_path: Path) -> Iterator[WritableLog]:
    with WritableLog.open_to_write(tmp_path / "log", made_by="voicelog test") as opened:
        yield opened


def scribe_of(log: WritableLog) -> Scribe:
    scribe = Scribe(log, PlainLogbook())
    scribe.catch_up(reason="read again")
    return scribe


def scripted(recogniser: object | None = None) -> Hearing:
    return Hearing(
        recogniser=recogniser or ScriptedRecogniser(SCRIPT),  # type: ignore[arg-type]
        segments=SegmentOptions(),
        handler="Hazel Wren",
    )


def write_silence(path: Path, *, seconds: int = 3) -> Path:
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16_000)
        out.writeframes(bytes(2 * 16_000 * seconds))
    return path


def test_a_recording_is_kept_and_every_note_knows_its_stretch(log: WritableLog) -> None:
    """The copy in the log is the same, byte for byte, and notes point into it."""
    seen: list[int] = []
    watcher = Watcher(taken=lambda note, _entries: seen.append(note.number))
    outcome = take_recording(DEMO, scribe_of(log), scripted(), watcher=watcher)
    notes = list(log.iter_notes())
    assert outcome.notes == len(notes) == len(seen) > 3
    assert (log.audio_folder / DEMO.name).read_bytes() == DEMO.read_bytes()
    [recording] = log.iter_recordings()
    assert recording.sha256 == hashlib.sha256(DEMO.read_bytes()).hexdigest()
    assert recording.finished_at is not None
    for earlier, later in pairwise(notes):
        assert earlier.end_s <= later.start_s  # type: ignore[operator]
    for note in notes:
        assert note.recording == DEMO.name
        assert note.handler == "Hazel Wren"
        assert all(note.start_s <= word.start_s <= word.end_s <= note.end_s for word in note.words)  # type: ignore[operator]


def test_a_note_has_the_wall_clock_of_its_beginning(
    log: WritableLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The recording's own clock plus the seconds to the note."""
    facts = replace(probe_recording(DEMO), recorded_at="2031-05-13T09:15:00+01:00")
    monkeypatch.setattr("voicelog.session.keeping.probe_recording", lambda _path: facts)
    take_recording(DEMO, scribe_of(log), scripted())
    for note in log.iter_notes():
        began = datetime.fromisoformat(note.recorded_at or "")
        assert began.utcoffset() == timedelta(hours=1)
        since = began - datetime.fromisoformat("2031-05-13T09:15:00+01:00")
        assert since.total_seconds() == int(note.start_s or 0)


def test_the_same_recording_twice_adds_nothing(log: WritableLog, tmp_path: Path) -> None:
    """It is known by its bytes, whatever it is called now."""
    take_recording(DEMO, scribe_of(log), scripted())
    before = log.count_notes()
    renamed = tmp_path / "another name.flac"
    renamed.write_bytes(DEMO.read_bytes())
    outcome = take_recording(renamed, scribe_of(log), scripted())
    assert outcome.already_known
    assert log.count_notes() == before
    assert [path.name for path in log.audio_folder.iterdir()] == [DEMO.name]


def test_an_interrupted_recording_goes_on_behind_the_last_stored_note(log: WritableLog) -> None:
    """Stopped in the middle and started again, the notes are those of an unbroken run."""
    with pytest.raises(KeyboardInterrupt):
        take_recording(DEMO, scribe_of(log), scripted(Unplugged(after=2)))
    assert log.count_notes() == 2
    outcome = take_recording(DEMO, scribe_of(log), scripted())
    assert outcome.resumed_at_s is not None
    resumed = [(note.start_s, note.end_s) for note in log.iter_notes()]
    with WritableLog.open_to_write(log.folder.parent / "other", made_by="voicelog test") as other:
        take_recording(DEMO, scribe_of(other), scripted())
        unbroken = [(note.start_s, note.end_s) for note in other.iter_notes()]
    assert resumed == unbroken


def test_a_kill_loses_nothing_that_was_stored(tmp_path: Path) -> None:
    """SIGKILL between two notes: both sides of it are in the log in the end."""
    program = (
        "import os, sys\nfrom pathlib import Path\n"
        "sys.path[:0] = sys.argv[2:]\n"
        "from test_recordings import DEMO, Unplugged, WritableLog, scribe_of, scripted\n"
        "from voicelog.session.recordings import take_recording\n"
        "log = WritableLog.open_to_write(Path(sys.argv[1]), made_by='voicelog test')\n"
        "try:\n    take_recording(DEMO, scribe_of(log), scripted(Unplugged(after=3)))\n"
        "except KeyboardInterrupt:\n    os.kill(os.getpid(), 9)\n"
    )
    here = Path(__file__).parent
    folder = tmp_path / "log"
    ended = subprocess.run(
        [sys.executable, "-c", program, str(folder), str(here), str(here.parents[1])], check=False
    )
    assert ended.returncode == -9
    with WritableLog.open_to_write(folder, made_by="voicelog test") as log:
        assert log.count_notes() == 3
        take_recording(DEMO, scribe_of(log), scripted())
        starts = [note.start_s for note in log.iter_notes()]
    assert len(starts) > 3
    assert starts == sorted(set(starts))


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("missing.wav", None, "missing.wav"),
        ("empty.wav", b"", "empty.wav"),
        ("letter.wav", b"Dear members of the club, " * 40, "letter.wav"),
    ],
)
def test_what_is_no_recording_leaves_the_log_as_it_was(
    log: WritableLog, tmp_path: Path, name: str, content: bytes | None, sentence: str
) -> None:
    """One sentence that names the file; nothing is copied."""
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(UnreadableRecording, match=sentence):
        take_recording(path, scribe_of(log), scripted())
    assert list(log.iter_recordings()) == []
    assert list(log.audio_folder.iterdir()) == []


def test_a_folder_and_a_pipe_are_no_recordings(log: WritableLog, tmp_path: Path) -> None:
    """Nothing waits for a pipe that nobody writes to."""
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path, tmp_path / "pipe"):
        with pytest.raises(UnreadableRecording, match="is not a file; name the recordings"):
            take_recording(path, scribe_of(log), scripted())


def test_silence_adds_nothing_to_the_log(log: WritableLog, tmp_path: Path) -> None:
    """Neither a note nor the recording stays; the sentence says what to do."""
    silence = write_silence(tmp_path / "silence.wav")
    with pytest.raises(UnusableInput, match=r"No speech was heard in .*silence\.wav"):
        take_recording(silence, scribe_of(log), scripted())
    assert log.count_notes() == 0
    assert list(log.iter_recordings()) == []
    assert list(log.audio_folder.iterdir()) == []


def test_a_copy_that_finds_no_room_is_removed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk fills up while a recording is copied: one sentence, nothing half-made."""
    audio = tmp_path / "log" / "audio"
    audio.mkdir(parents=True)

    def full(_descriptor: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(DiskFull, match="No room is left on the disk"):
        copy_recording(DEMO, audio_folder=audio)
    assert list(audio.iterdir()) == []


@pytest.mark.parametrize(
    ("given", "safe"),
    [
        ("day 1.flac", "day-1.flac"),
        ("../../etc/passwd", "passwd"),
        ("-rf.wav", "rf.wav"),
        (".hidden.wav", "hidden.wav"),
        ("Grünes Buch.WAV", "Grunes-Buch.wav"),
        ("日記.opus", "recording.opus"),
        ("x" * 300 + ".m4a", "x" * 60 + ".m4a"),
        ("a\nb\x1b[31m.mp3", "a-b-31m.mp3"),
    ],
)
def test_file_names_are_safe_everywhere(given: str, safe: str) -> None:
    """Whatever a recorder calls its files, ours are plain."""
    assert make_safe_name(given) == safe


def test_two_recordings_of_the_same_name_live_side_by_side(tmp_path: Path) -> None:
    """Recorders begin again at REC0001 every day."""
    audio = tmp_path / "audio"
    audio.mkdir()
    names = []
    for content in (b"one", b"two", b"three"):
        source = tmp_path / "REC0001.WAV"
        source.write_bytes(content)
        copy = copy_recording(source, audio_folder=audio)
        names.append(settle_copy(copy, original_name=source.name).name)
    assert names == ["REC0001.wav", "REC0001-2.wav", "REC0001-3.wav"]
