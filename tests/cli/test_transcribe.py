"""transcribe and demo: from sound to rows, with a real recogniser where it matters."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
import wave
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Voicelog
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.testing import ScriptedRecogniser

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo_data"
COVERS = DEMO / "recordings" / "1-green-book-covers.flac"


def scripted(recordings: slice) -> Callable[..., Hearing]:
    """Return a stand-in for the recogniser that hears exactly what was said."""
    told = tomllib.loads((DEMO / "notes.toml").read_text(encoding="utf-8"))["recording"]
    lines = [note for recording in told[recordings] for note in recording["notes"]]

    def make_hearing(*_: object) -> Hearing:
        return Hearing(recogniser=ScriptedRecogniser(lines), segments=SegmentOptions())

    return make_hearing


def records(text: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in text.splitlines()]


def write_silence(path: Path) -> Path:
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8_000)
        out.writeframes(bytes(2 * 8_000 * 4))
    return path


def test_a_recording_is_heard_for_real(voicelog: Voicelog, tmp_path: Path) -> None:
    """Both recognisers, the real reader: covers and first leaves of the green book."""
    log = tmp_path / "log"
    result = voicelog("transcribe", COVERS, "--log", log, "--json", "--handler", "Hazel Wren")
    assert result.status == 0, result.err
    entries = records(result.out)
    assert {entry["accession"] for entry in entries} == {"2031-007"}
    assert entries[0]["kind"] == "volume"
    assert entries[0]["binding"] == "post binding"
    assert {entry["leaf"] for entry in entries} >= {"front cover", "flyleaf", "1", "2"}
    assert {entry["handler"] for entry in entries} == {"Hazel Wren"}
    notes = records(voicelog("notes", "--json", "--log", log).out)
    assert {note["engine"] for note in notes} == {"both"}
    assert all(note["model"] and note["words"] for note in notes)
    assert all(note["recording"] == COVERS.name for note in notes)


def test_bad_recordings_are_named_and_the_good_one_is_taken(
    voicelog: Voicelog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Missing, empty, not sound, silent, a folder: a sentence each, exit status 1."""
    monkeypatch.setattr("voicelog.cli.transcribe.make_hearing", scripted(slice(0, 1)))
    empty = tmp_path / "empty.wav"
    empty.write_bytes(b"")
    letter = tmp_path / "letter.mp3"
    letter.write_text("Dear members of the club, " * 50)
    silence = write_silence(tmp_path / "silence.wav")
    log = tmp_path / "log"
    bad = [tmp_path / "missing.wav", empty, letter, silence, tmp_path]
    result = voicelog("transcribe", *bad, COVERS, "--log", log, "--json")
    assert result.status == 1
    assert "Traceback" not in result.err
    for path in bad:
        sentences = [line for line in result.err.splitlines() if re.search(rf"{path}\b[^/]", line)]
        assert len(sentences) == 1, path
    assert len(records(result.out)) > 3
    assert [path.name for path in (log / "audio").iterdir()] == [COVERS.name]
    again = voicelog("transcribe", COVERS, "--log", log)
    assert again.status == 0
    assert "is in the log already; nothing was added." in again.err


def test_the_demo_agrees_with_the_expected_rows_when_every_word_is_heard(
    voicelog: Voicelog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The reader alone, without the recogniser's mishearings: nearly every field."""
    monkeypatch.setattr("voicelog.cli.demo.make_hearing", scripted(slice(None)))
    result = voicelog("demo", "--out", tmp_path / "demo")
    assert result.status == 0, result.err
    found = re.search(r"(\d+) of (\d+) fields agree", result.out)
    assert found
    assert int(found[1]) / int(found[2]) > 0.97, result.out
    for name in ("entries.csv", "entries.xlsx", "finding-aid.xml", "volumes.marc.xml"):
        assert (tmp_path / "demo" / name).is_file()
    assert voicelog("show", "--log", tmp_path / "demo" / "log").status == 0


def test_the_demo_replaces_only_what_a_demo_made(
    voicelog: Voicelog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It runs again in its own folder, and touches no other."""
    monkeypatch.setattr("voicelog.cli.demo.make_hearing", scripted(slice(0, 0)))
    result = voicelog("demo", "--out", tmp_path)
    assert result.status == 2
    assert "was not made by the demo" in result.err
    monkeypatch.setattr("voicelog.cli.demo.make_hearing", scripted(slice(None)))
    assert voicelog("demo").status == 0
    first = (tmp_path / "work" / "voicelog-demo" / "entries.csv").read_text()
    assert voicelog("demo").status == 0
    second = (tmp_path / "work" / "voicelog-demo" / "entries.csv").read_text()
    assert first.count("\n") == second.count("\n")


def test_a_full_disk_is_one_sentence_and_the_log_is_unharmed(tmp_path: Path) -> None:
    """A real file system of less than two megabytes, mounted in a name space of our own."""
    unshare = shutil.which("unshare")
    allowed = unshare and (
        subprocess.run([unshare, "-Urm", "true"], check=False, capture_output=True).returncode == 0
    )
    if not allowed:
        pytest.skip("this machine lets nobody mount a small disk")
    small = tmp_path / "small"
    small.mkdir()
    script = f"""
        mount -t tmpfs -o size=1600k tmpfs {small}
        voicelog() {{ {sys.executable} -m voicelog "$@"; }}
        echo 'leaf one, a postcard' | voicelog parse - --log {small}/log >/dev/null
        head -c 1050000 /dev/zero > {small}/ballast
        voicelog transcribe {COVERS} --log {small}/log >/dev/null; echo "transcribe $?"
        seq -f 'leaf %g, a postcard, photo corners, remark a long remark to fill the disk' 1 400 |
            voicelog parse - --log {small}/log >/dev/null; echo "parse $?"
        ls {small}/log/audio
        rm {small}/ballast
        voicelog notes --json --log {small}/log | wc -l
        echo 'verso, a map' | voicelog parse - --log {small}/log --json | tail -1
        mount -o remount,ro {small}
        voicelog show --json --log {small}/log | tail -1
    """
    ended = subprocess.run(
        [str(unshare), "-Urm", "bash", "-ec", script.replace("; echo", " || echo")],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr.count("No room is left on the disk") == 2, ended.stderr
    assert "Traceback" not in ended.stderr
    transcribed, parsed, kept, last, read_only = ended.stdout.splitlines()
    assert (transcribed, parsed) == ("transcribe 1", "parse 1")
    assert int(kept) > 1
    assert json.loads(last)["item_type"] == ["map"]
    assert read_only == last, "a log on a disk that can't be written can still be read"
