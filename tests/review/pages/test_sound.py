"""The sound of a note: the right stretch, in parts as a player asks for them."""

from __future__ import annotations

import io
import shutil
import sqlite3
import wave
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import av
import numpy as np
import pytest

from tests.review.pages.conftest import DEMO
from tests.review.pages.site import Browser, Site
from voicelog.errors import UnreadableRecording
from voicelog.recognition.audio import iter_blocks
from voicelog.recognition.excerpt import read_excerpt
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ
from voicelog.review.pages.byte_ranges import ByteRange, NoSuchRange, parse_range
from voicelog.review.pages.clips import Clips
from voicelog.store.log import Log

RECORDING = DEMO / "recordings" / "2-green-book-middle.flac"


@pytest.fixture
def listener(spoken_site: Site) -> Browser:
    return Browser(spoken_site, spoken_site.enter())


class TestRanges:
    """RFC 9110, section 14.1.2: its own examples, for a file of 10,000 bytes."""

    @pytest.mark.parametrize(
        ("header", "first", "last"),
        [
            ("bytes=0-499", 0, 499),
            ("bytes=500-999", 500, 999),
            ("bytes=-500", 9500, 9999),
            ("bytes=9500-", 9500, 9999),
            ("bytes=0-0", 0, 0),
            ("bytes=-1", 9999, 9999),
            ("bytes=0-999999", 0, 9999),
            ("bytes=-20000", 0, 9999),
        ],
    )
    def test_gives_the_part_asked_for(self, header: str, first: int, last: int) -> None:
        part = parse_range(header, 10_000)
        assert part == ByteRange(first=first, end=last + 1)
        assert part.content_range(10_000) == f"bytes {first}-{last}/10000"

    @pytest.mark.parametrize(
        "header", [None, "", "bytes=", "bytes=5-2", "bytes=a-b", "leaves=1-2", "bytes=0-1,4-5"]
    )
    def test_passes_over_what_it_does_not_know(self, header: str | None) -> None:
        assert parse_range(header, 10_000) is None

    @pytest.mark.parametrize("header", ["bytes=10000-", "bytes=-0", "bytes=99999-100000"])
    def test_says_when_nothing_of_it_is_there(self, header: str) -> None:
        with pytest.raises(NoSuchRange, match="nothing of it is in a file of 10000 bytes"):
            parse_range(header, 10_000)


class TestExcerpts:
    """A leap into a recording gives what decoding it from the start gives."""

    @pytest.mark.parametrize("suffix", [".flac", ".wav", ".mp3", ".m4a", ".opus"])
    def test_is_the_same_sound(self, suffix: str, tmp_path: Path) -> None:
        path = convert(RECORDING, tmp_path / f"again{suffix}")
        whole = np.concatenate(list(iter_blocks(path)))
        start_s, end_s = 20.0, 22.5
        excerpt = read_excerpt(path, start_s=start_s, end_s=end_s)
        wanted = whole[round(start_s * SAMPLE_RATE_HZ) : round(end_s * SAMPLE_RATE_HZ)]
        assert len(excerpt) == pytest.approx(len(wanted), abs=2)
        # Coded sound may begin a few hundredths of a second later; words are longer than that.
        assert lag_s(excerpt, wanted) < 0.06

    def test_ends_where_the_recording_ends(self) -> None:
        assert len(read_excerpt(RECORDING, start_s=10_000.0, end_s=10_001.0)) == 0


class TestClips:
    """What is sent is the note with three seconds around it."""

    def test_is_a_wav_file_of_the_note(self, listener: Browser) -> None:
        with Log.open(listener.site.folder) as log:
            note = next(note for note in log.iter_notes() if (note.start_s or 0) > 10)
        answer = listener.get(f"/notes/{note.number}/sound.wav")
        assert answer.status == 200
        assert answer.headers["content-type"] == "audio/wav"
        with wave.open(io.BytesIO(answer.body)) as sound:
            assert (sound.getnchannels(), sound.getframerate()) == (1, SAMPLE_RATE_HZ)
            lasts_s = sound.getnframes() / sound.getframerate()
        assert note.start_s is not None
        assert note.end_s is not None
        assert lasts_s == pytest.approx(note.end_s - note.start_s + 6.0, abs=0.1)

    def test_comes_in_parts(self, listener: Browser) -> None:
        whole = listener.get("/notes/3/sound.wav").body
        part = listener.get("/notes/3/sound.wav", Range="bytes=100-299")
        assert part.status == 206
        assert part.headers["content-range"] == f"bytes 100-299/{len(whole)}"
        assert part.body == whole[100:300]
        assert listener.get("/notes/3/sound.wav", Range=f"bytes={len(whole)}-").status == 416

    def test_shows_every_word_of_the_note(self, listener: Browser) -> None:
        with Log.open(listener.site.folder) as log:
            note = next(log.iter_notes())
        picture = listener.get(f"/notes/{note.number}/hearing").text
        assert picture.count('class="wave-word"') == len(note.words)
        assert "<path" in picture

    def test_is_heard_again_by_another_recogniser(self, listener: Browser) -> None:
        """What it hears otherwise is marked; nothing is changed."""
        assert "/notes/2/again?engine=second" in listener.get("/notes/2/hearing").text
        again = listener.get("/notes/2/again?engine=second")
        assert "<del>volume one, the green book</del>" in again.text
        assert "<ins>quite another thing</ins>" in again.text
        assert listener.get("/notes/2/again?engine=scripted").status == 404

    def test_says_that_a_typed_note_has_no_sound(self, browser: Browser) -> None:
        answer = browser.get("/notes/1/sound.wav")
        assert answer.status == 404
        assert "Note 1 was typed; there is no sound of it." in answer.text

    def test_says_that_a_recording_is_gone(self, listener: Browser) -> None:
        for file in (listener.site.folder / "audio").iterdir():
            file.unlink()
        answer = listener.get("/notes/1/sound.wav")
        assert answer.status == 404
        assert "is not in the log&#39;s audio folder" in answer.text

    def test_says_that_its_sound_was_removed_and_by_which_rule(self, listener: Browser) -> None:
        """Also where a clip of it was heard just before."""
        assert listener.get("/notes/1/sound.wav").status == 200
        with closing(sqlite3.connect(listener.site.folder / "log.sqlite")) as log, log:
            log.execute(
                "UPDATE recordings SET removed_at = '2031-06-01T12:00:00+00:00', "
                "removed_by = '90 days'"
            )
        answer = listener.get("/notes/1/sound.wav")
        assert answer.status == 410
        assert "was removed on 2031-06-01 by the rule &#39;90 days&#39;" in answer.text

    def test_forgets_sound_that_was_taken_out(self, spoken_log: Path, tmp_path: Path) -> None:
        """A clip cut before a redaction is never played after it."""
        folder = tmp_path / "log"
        shutil.copytree(spoken_log, folder)
        with Log.open(folder) as log:
            note = next(log.iter_notes())
            clips = Clips()
            before = clips.find(log.audio_folder, note)
            assert note.recording is not None
            silence(log.audio_folder / note.recording)
            after = clips.find(log.audio_folder, note)
        assert before.wav != after.wav
        assert not np.frombuffer(after.wav[44:], dtype="<i2").any()

    def test_never_leaves_the_audio_folder(self, spoken_log: Path) -> None:
        with Log.open(spoken_log) as log:
            note = replace(next(log.iter_notes()), recording="../log.sqlite")
            with pytest.raises(UnreadableRecording, match="not in the log's audio folder"):
                Clips().find(log.audio_folder, note)


def convert(source: Path, target: Path) -> Path:
    """Write a recording again in the format of another ending."""
    codec = {".flac": "flac", ".wav": "pcm_s16le", ".mp3": "mp3", ".m4a": "aac", ".opus": "libopus"}
    with av.open(str(source)) as given, av.open(str(target), "w") as made:
        rate = 48_000 if target.suffix == ".opus" else 16_000
        stream = made.add_stream(codec[target.suffix], rate=rate)
        resampler = av.AudioResampler(format=stream.format, layout="mono", rate=rate)
        stream.layout = "mono"
        for frame in given.decode(audio=0):
            frame.pts = None
            for part in resampler.resample(frame):
                made.mux(stream.encode(part))
        for part in resampler.resample(None):
            made.mux(stream.encode(part))
        made.mux(stream.encode(None))
    return target


def silence(path: Path) -> None:
    samples = np.concatenate(list(iter_blocks(path)))
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE_HZ)
        file.writeframes(np.zeros(len(samples), dtype="<i2").tobytes())


def lag_s(one: np.ndarray, other: np.ndarray) -> float:
    """Return by how much two sounds are shifted against each other, in seconds."""
    size = min(len(one), len(other))
    spectrum = np.fft.rfft(one[:size], 2 * size) * np.conj(np.fft.rfft(other[:size], 2 * size))
    likeness = np.fft.irfft(spectrum)
    shift = int(np.argmax(likeness))
    return abs(shift if shift < size else shift - 2 * size) / SAMPLE_RATE_HZ
