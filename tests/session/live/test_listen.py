"""voicelog listen, with a real sound server, a real recogniser and a real terminal."""

from __future__ import annotations

import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from itertools import islice
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np

from tests.recognition.recordings import read_sound, write_recording
from tests.session.live.bench import ROOT
from tests.session.live.sound_server import SoundServer
from voicelog.domain.speakers import Speakers, Told
from voicelog.recognition.segments import iter_segments
from voicelog.session.live.own_voice import TAIL_S
from voicelog.store.log import Log
from voicelog.store.sessions import IncidentKind

RECORDINGS = sorted((ROOT / "demo_data" / "recordings").glob("*.flac"))
SPOKEN = RECORDINGS[1]
PEOPLE = sorted((ROOT / "tests" / "reference" / "an4" / "flac").glob("*.flac"))
_COLUMNS, _LINES = 80, 24
_LONGEST_WAIT_S = 600.0
# As long as a sound may be on its way, and a little more.
_ROOM_S = TAIL_S + 1.0
PAGE_DOWN = "\x1b[6~"


class Terminal:
    """`voicelog listen` on a pseudo-terminal of 80 by 24; what it draws is kept as text."""

    def __init__(self, *arguments: str, **variables: str) -> None:
        self.drawn = ""
        self._ours, theirs = pty.openpty()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "voicelog", "listen", *arguments],
            stdin=theirs,
            stdout=theirs,
            stderr=subprocess.PIPE,
            cwd=ROOT,
            env={
                **os.environ,
                "TERM": "xterm",
                "COLUMNS": str(_COLUMNS),
                "LINES": str(_LINES),
                **variables,
            },
        )
        os.close(theirs)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._process.kill()
        self._process.communicate()
        os.close(self._ours)

    def wait_for(self, *wanted: str) -> None:
        """Wait until all this has stood on the screen, one after the other."""
        for one in wanted:
            self._read_until(lambda one=one: one in self.drawn)  # type: ignore[misc]
            # What is on the screen is drawn again and again; what is gone is not.
            self.drawn = self.drawn[self.drawn.index(one) + len(one) :]

    def wait_for_sound(self, folder: Path) -> None:
        """Wait until a second of sound is on the disk; the screen may say so before."""
        self._read_until(
            lambda: any(path.stat().st_size > 32_000 for path in (folder / "audio").glob("*.wav"))
        )

    def press(self, key: str) -> None:
        self.drawn = ""
        os.write(self._ours, key.encode())

    def end(self, number: signal.Signals = signal.SIGINT) -> tuple[int, str]:
        """Ask it to end; return its exit status and what it said at the end."""
        self._process.send_signal(number)
        self._read_until(lambda: self._process.poll() is not None)
        assert self._process.stderr is not None
        return self._process.wait(), self._process.stderr.read().decode()

    def _read_until(self, is_there: Callable[[], bool]) -> None:
        give_up_at = time.monotonic() + _LONGEST_WAIT_S
        while not is_there():
            assert time.monotonic() < give_up_at, self.drawn[-2000:]
            readable, _, _ = select.select([self._ours], [], [], 0.1)
            if readable:
                try:
                    drawn = os.read(self._ours, 65_536).decode("utf-8", "replace")
                except OSError:  # the other end was closed
                    return
                self.drawn += re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", drawn)


def test_a_session_from_the_first_word_to_the_end(
    sound_server: SoundServer, tmp_path: Path
) -> None:
    """Spoken into the microphone, on the screen, in the log; paused and resumed by a pedal.

    The tones are played into the same microphone: none of them becomes a note.
    """
    folder = tmp_path / "green-book"
    with Terminal("--log", str(folder), VOICELOG_KEY_PAUSE="page down") as terminal:
        terminal.wait_for("RECORDING")
        terminal.wait_for_sound(folder)
        sound_server.play(SPOKEN)
        terminal.wait_for("“Next leaf", ": envelope", ": greeting card")
        terminal.press(PAGE_DOWN)
        terminal.wait_for("PAUSED")
        terminal.press(PAGE_DOWN)
        terminal.wait_for("RECORDING")
        status, said = terminal.end()
    assert status == 0
    assert re.search(r"\d+ notes taken down, 0 min \d+ s recorded, in ", said)
    with Log.open(folder) as log:
        texts = [note.text for note in log.iter_notes()]
        recordings = list(log.iter_recordings())
        entries = [entry for _, entry in log.iter_entries()]
    assert "pause log" in texts
    assert texts.index("resume log") == texts.index("pause log") + 1
    assert ("greeting card",) in [entry.item_type for entry in entries]
    # A busy machine may lose sound, and begins a file behind each gap.
    assert len(recordings) >= 2
    assert all(recording.finished_at for recording in recordings)
    assert all((folder / "audio" / recording.file).is_file() for recording in recordings)


def test_what_our_own_voice_says_becomes_no_note(sound_server: SoundServer, tmp_path: Path) -> None:
    """The voice comes out of a loudspeaker right into the microphone, and is told apart.

    In place of the voice a person says something (AN4, Carnegie Mellon University), which
    any recogniser would be glad to write down.
    """
    said = [next(iter_segments(RECORDINGS[0])), *islice(iter_segments(RECORDINGS[2]), 2)]
    for nth, segment in enumerate(said):
        write_recording(tmp_path / f"{nth}.wav", segment.samples)
    person = np.concatenate([read_sound(path) for path in PEOPLE[:2]])
    np.save(tmp_path / "person.npy", person)
    (tmp_path / "hibari.py").write_text(
        "import numpy\n"
        "SAMPLE_RATE = 16_000\n"
        "class Hibari:\n"
        "    def __call__(self, text, seed):\n"
        f"        return numpy.load({str(tmp_path / 'person.npy')!r})\n"
    )
    folder = tmp_path / "log"
    with Terminal("--log", str(folder), PYTHONPATH=str(tmp_path)) as terminal:
        terminal.wait_for("RECORDING")
        terminal.wait_for_sound(folder)
        sound_server.play(tmp_path / "0.wav")
        # Rows, not the words that are on the screen while they are spoken.
        terminal.wait_for("2031-007 ·")
        for nth, wanted in ((1, "envelope 2"), (2, "envelope 3")):
            # With a loudspeaker one waits until the voice is silent, as README.md says.
            sound_server.play(tmp_path / f"{nth}.wav")
            terminal.wait_for(wanted, "speaking", "RECORDING")
            time.sleep(_ROOM_S)
        terminal.end()
    with Log.open(folder) as log:
        texts = [note.text for note in log.iter_notes()]
    # "R E W Y 8 5 6, T V A H 52 53": nobody else says single letters here.
    assert [text for text in texts if re.search(r"\b([REWYTVH]|856|52|53)\b", text)] == []
    for wanted in ("ccession", "icket", "card"):
        assert any(wanted in text for text in texts), texts


def test_a_microphone_pulled_out_and_put_back_is_on_the_screen_and_on_record(
    sound_server: SoundServer, tmp_path: Path
) -> None:
    """The session goes on by itself; who was recorded and the gap are in the log."""
    folder = tmp_path / "log"
    people = ("--recorded", "Ida Fenn", "--told", "yes")
    with Terminal("--log", str(folder), "--engine", "vosk", *people) as terminal:
        terminal.wait_for_sound(folder)
        sound_server.unplug()
        terminal.wait_for("NO MICROPHONE")
        terminal.drawn = ""
        sound_server.plug_in()
        terminal.wait_for("missing")
        status, said = terminal.end()
    assert status == 0
    assert re.search(r"of sound are missing \(no sound came\)", said)
    with Log.open(folder) as log:
        (session,) = log.iter_sessions()
        incidents = log.find_incidents(session)
    assert session.speakers == Speakers(people=("Ida Fenn",), told=Told.YES)
    assert not session.broken_off
    assert (IncidentKind.GAP, "no sound came") in {(one.kind, one.why) for one in incidents}


def test_a_second_session_on_the_same_log_is_turned_away(
    sound_server: SoundServer, tmp_path: Path
) -> None:
    """With one sentence, before anything is recorded."""
    del sound_server
    with Terminal("--log", str(tmp_path / "log")) as terminal:
        terminal.wait_for("RECORDING")
        second = subprocess.run(
            [sys.executable, "-m", "voicelog", "listen", "--log", str(tmp_path / "log")],
            cwd=ROOT,
            check=False,
            capture_output=True,
            text=True,
            timeout=_LONGEST_WAIT_S,
        )
        status, _ = terminal.end(signal.SIGTERM)
    assert second.returncode == 1
    assert re.search(r"Another voicelog \(process \d+ on .*\) is writing to ", second.stderr)
    assert status == 0


def test_a_killed_session_is_finished_by_the_next_one(
    sound_server: SoundServer, tmp_path: Path
) -> None:
    """Saved but unread sound is heard first; nothing is there twice."""
    folder = tmp_path / "log"
    with Terminal("--log", str(folder)) as terminal:
        terminal.wait_for("RECORDING")
        terminal.wait_for_sound(folder)
        sound_server.play(SPOKEN)
        terminal.wait_for("“Next leaf", ": envelope")
        time.sleep(4)
    sound_server.stop()
    sound_server.start()
    with Terminal("--log", str(folder)) as terminal:
        terminal.wait_for("RECORDING")
        _, said = terminal.end()
    assert re.search(r"\d+ notes? of an earlier session", said)
    with Log.open(folder) as log:
        times = [(note.recording, note.start_s) for note in log.iter_notes()]
        recordings = list(log.iter_recordings())
    assert len(times) == len(set(times)) >= 3
    assert all(recording.finished_at for recording in recordings)


def test_without_a_microphone_it_says_so(tmp_path: Path) -> None:
    """One sentence, exit status 1, and the log can be used by others."""
    done = subprocess.run(
        [
            *(sys.executable, "-m", "voicelog", "listen"),
            *("--log", str(tmp_path / "log"), "--microphone", "no such thing"),
        ],
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
        timeout=_LONGEST_WAIT_S,
    )
    assert done.returncode == 1
    assert re.search(r"No microphone|PortAudio is missing", done.stderr)
    assert "Traceback" not in done.stderr
