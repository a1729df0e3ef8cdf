"""Recordings of every usual kind become the same sound; damaged ones give what they have."""

from __future__ import annotations

import os
import struct
import tracemalloc
from pathlib import Path

import av
import numpy as np
import pytest

from voicelog.errors import UnreadableRecording
from voicelog.recognition.audio import RecordingFacts, iter_blocks, probe_recording
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ

from .recordings import find_pitch_hz, make_tone, read_sound, write_recording

KINDS = [
    ("telephone.wav", "pcm_mulaw", 8_000, "mono"),
    ("dictation.wav", "pcm_s16le", 16_000, "mono"),
    ("studio.wav", "pcm_s24le", 96_000, "stereo"),
    ("float.wav", "pcm_f32le", 48_000, "stereo"),
    ("disc.flac", "flac", 44_100, "stereo"),
    ("portable.mp3", "libmp3lame", 44_100, "stereo"),
    ("mobile.m4a", "aac", 44_100, "stereo"),
    ("net.opus", "libopus", 48_000, "mono"),
    ("surround.flac", "flac", 48_000, "5.1"),
]


@pytest.mark.parametrize(("name", "codec", "rate_hz", "layout"), KINDS)
class TestEveryUsualKind:
    def test_decodes_to_the_same_tone_at_16_khz(
        self, name: str, codec: str, rate_hz: int, layout: str, tmp_path: Path
    ) -> None:
        """Length, pitch and loudness survive whatever the format, rate and channels."""
        tone = make_tone(seconds=3)
        path = write_recording(tmp_path / name, tone, codec=codec, rate_hz=rate_hz, layout=layout)
        sound = read_sound(path)
        assert sound.dtype == np.float32
        assert len(sound) / SAMPLE_RATE_HZ == pytest.approx(3.0, abs=0.1)
        assert find_pitch_hz(sound) == pytest.approx(440, abs=1)
        assert np.abs(sound).max() == pytest.approx(0.3, rel=0.35)

    def test_is_described_without_decoding(
        self, name: str, codec: str, rate_hz: int, layout: str, tmp_path: Path
    ) -> None:
        """The facts are the file's own."""
        path = write_recording(
            tmp_path / name, make_tone(seconds=3), codec=codec, rate_hz=rate_hz, layout=layout
        )
        facts = probe_recording(path)
        assert facts.duration_s == pytest.approx(3.0, abs=0.1)
        assert facts.sample_rate_hz == rate_hz
        assert facts.channels == {"mono": 1, "stereo": 2, "5.1": 6}[layout]
        assert facts.damage is None


class TestChannels:
    @pytest.mark.parametrize("right", [0.0, 1.0, -1.0], ids=["one dead", "equal", "reversed"])
    def test_a_voice_is_kept_however_the_channels_are_wired(
        self, right: float, tmp_path: Path
    ) -> None:
        """One dead channel, or one wired the wrong way round, must not cost the voice."""
        tone = make_tone(seconds=2)
        path = write_recording(
            tmp_path / "two.wav", np.stack([tone, right * tone]), layout="stereo"
        )
        assert np.abs(read_sound(path)).max() == pytest.approx(0.3, rel=0.05)

    def test_what_is_no_number_becomes_silence(self, tmp_path: Path) -> None:
        """Float files may hold infinities; the recognisers never see them."""
        tone = make_tone(seconds=1)
        tone[100:200] = np.nan
        tone[300:400] = np.inf
        path = write_recording(tmp_path / "odd.wav", tone, codec="pcm_f32le")
        sound = read_sound(path)
        assert np.isfinite(sound).all()
        assert np.abs(sound).max() <= 1.0


class TestLongRecordings:
    def test_any_length_takes_the_memory_of_one_block(self, tmp_path: Path) -> None:
        """Decoding twenty minutes to 77 MB of sound holds less than 8 MB at a time."""
        path = tmp_path / "long.wav"
        _write_wav_header(path, data_bytes=1200 * 16_000, rate_hz=8_000)
        with path.open("r+b") as file:
            file.truncate(44 + 1200 * 16_000)
        tracemalloc.start()
        try:
            seconds = sum(len(block) for block in iter_blocks(path)) / SAMPLE_RATE_HZ
            _, peak_bytes = tracemalloc.get_traced_memory()
        finally:
            tracemalloc.stop()
        assert seconds == pytest.approx(1200, abs=0.1)
        assert peak_bytes < 8_000_000


class TestDamage:
    @pytest.mark.parametrize(
        ("name", "codec"),
        [("cut.flac", "flac"), ("cut.wav", "pcm_s16le"), ("cut.mp3", "libmp3lame")],
    )
    def test_a_truncated_file_gives_what_is_there(
        self, name: str, codec: str, tmp_path: Path
    ) -> None:
        """Half a file holds about half the sound, and that is used."""
        rng = np.random.default_rng(0)
        noise = rng.normal(0, 0.1, 8 * SAMPLE_RATE_HZ).astype(np.float32)
        path = write_recording(tmp_path / name, noise, codec=codec)
        os.truncate(path, path.stat().st_size // 2)
        assert len(read_sound(path)) / SAMPLE_RATE_HZ == pytest.approx(4.0, abs=0.5)

    @pytest.mark.parametrize(("name", "codec"), [("cut.flac", "flac"), ("cut.wav", "pcm_s16le")])
    def test_where_the_length_is_written_down_the_loss_is_told(
        self, name: str, codec: str, tmp_path: Path
    ) -> None:
        """One sentence names the file, what is there and what should be."""
        rng = np.random.default_rng(0)
        noise = rng.normal(0, 0.1, 8 * SAMPLE_RATE_HZ).astype(np.float32)
        path = write_recording(tmp_path / name, noise, codec=codec)
        os.truncate(path, path.stat().st_size // 2)
        told: list[str] = []
        for _ in iter_blocks(path, on_damage=told.append):
            pass
        assert len(told) == 1
        assert f"{path} is cut short: " in told[0]
        assert " of 8.0 s are there and were used." in told[0]
        damage = probe_recording(path).damage
        assert damage is not None
        assert "is cut short" in damage

    @pytest.mark.parametrize("data_bytes", [0, 0xFFFFFFFF], ids=["zero", "all ones"])
    def test_a_recorder_that_died_left_a_usable_file(self, data_bytes: int, tmp_path: Path) -> None:
        """WAV files whose header was never finished hold all their sound."""
        path = tmp_path / "died.wav"
        _write_wav_header(path, data_bytes=data_bytes)
        with path.open("ab") as file:
            file.write((make_tone(seconds=2) * 32767).astype("<i2").tobytes())
        assert find_pitch_hz(read_sound(path)) == pytest.approx(440, abs=1)
        assert probe_recording(path).duration_s == pytest.approx(2.0, abs=0.1)

    def test_garbage_in_the_middle_is_passed_over(self, tmp_path: Path) -> None:
        """A damaged stretch costs itself, not the rest, and is told."""
        rng = np.random.default_rng(0)
        noise = rng.normal(0, 0.1, 8 * SAMPLE_RATE_HZ).astype(np.float32)
        path = write_recording(tmp_path / "scratched.flac", noise, codec="flac")
        content = bytearray(path.read_bytes())
        middle = len(content) // 2
        content[middle : middle + 20_000] = rng.bytes(20_000)
        path.write_bytes(content)
        told: list[str] = []
        seconds = sum(map(len, iter_blocks(path, on_damage=told.append))) / SAMPLE_RATE_HZ
        assert 6.0 < seconds < 8.5
        assert len(told) == 1
        assert "scratched.flac is" in told[0]


class TestUnusable:
    """Each refusal is one sentence that names the file and says what to do."""

    def refusal(self, path: Path) -> str:
        with pytest.raises(UnreadableRecording, match=r"\.$") as probed:
            probe_recording(path)
        with pytest.raises(UnreadableRecording, match=r"\.$") as decoded:
            list(iter_blocks(path))
        assert str(decoded.value) == str(probed.value)
        assert probed.value.source == str(path)
        assert str(probed.value).startswith(f"{path} ")
        assert "\n" not in str(probed.value)
        return str(probed.value)

    def test_coded_in_a_way_nobody_knows(self, tmp_path: Path) -> None:
        """A header whose number for the codec (ISO/IEC 14496-1) is damaged; found by fuzzing."""
        path = write_recording(tmp_path / "strange.m4a", make_tone(seconds=1), codec="aac")
        path.write_bytes(path.read_bytes().replace(b"\x40\x15", b"\x01\x15"))
        assert "coded in an unknown way" in self.refusal(path)

    def test_missing(self, tmp_path: Path) -> None:
        assert "does not exist; check the name" in self.refusal(tmp_path / "none.wav")

    def test_a_name_no_file_can_have(self, tmp_path: Path) -> None:
        assert "check the name" in self.refusal(tmp_path / ("x" * 5000))

    def test_empty(self, tmp_path: Path) -> None:
        path = tmp_path / "empty.wav"
        path.touch()
        assert "is empty" in self.refusal(path)

    def test_a_folder(self, tmp_path: Path) -> None:
        assert "is a folder" in self.refusal(tmp_path)

    def test_a_pipe_is_not_waited_for(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe.wav")
        assert "is not an ordinary file" in self.refusal(tmp_path / "pipe.wav")

    def test_a_device_is_not_read_for_ever(self) -> None:
        assert "is not an ordinary file" in self.refusal(Path("/dev/zero"))

    @pytest.mark.parametrize(
        "content",
        [b"Caption reads: the lamps at dusk.\n" * 50, bytes(5000), b"RIFF\x00\x00", b"fLaC" * 3],
        ids=["text", "zeros", "torn header", "torn flac"],
    )
    def test_not_sound(self, content: bytes, tmp_path: Path) -> None:
        path = tmp_path / "notes.wav"
        path.write_bytes(content)
        self.refusal(path)

    def test_random_bytes(self, tmp_path: Path) -> None:
        path = tmp_path / "random.wav"
        path.write_bytes(np.random.default_rng(3).bytes(40_000))
        self.refusal(path)

    def test_a_header_without_sound(self, tmp_path: Path) -> None:
        path = tmp_path / "header.wav"
        _write_wav_header(path, data_bytes=0)
        self.refusal(path)

    def test_m4a_that_lost_its_index(self, tmp_path: Path) -> None:
        path = write_recording(tmp_path / "cut.m4a", make_tone(seconds=4), codec="aac")
        os.truncate(path, path.stat().st_size // 2)
        assert "index is lost" in self.refusal(path)

    def test_a_film_without_sound(self, tmp_path: Path) -> None:
        path = tmp_path / "film.mp4"
        with av.open(path, "w") as container:
            stream = container.add_stream("mpeg4", rate=25)
            stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
            for _ in range(5):
                picture = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), "rgb24")
                container.mux(stream.encode(picture))
            container.mux(stream.encode(None))
        assert "film without sound" in self.refusal(path)

    @pytest.mark.parametrize("rate_hz", [1, 4_000_000_000])
    def test_a_header_that_would_swell_to_hours(self, rate_hz: int, tmp_path: Path) -> None:
        """At one sample a second, a megabyte would be resampled to 16 thousand million."""
        path = tmp_path / "bomb.wav"
        _write_wav_header(path, data_bytes=1_000_000, rate_hz=rate_hz)
        with path.open("ab") as file:
            file.write(bytes(1_000_000))
        self.refusal(path)

    @pytest.mark.skipif(os.geteuid() == 0, reason="root may read every file")
    def test_not_permitted(self, tmp_path: Path) -> None:
        path = write_recording(tmp_path / "closed.wav", make_tone(seconds=1))
        path.chmod(0)
        assert "permissions" in self.refusal(path)


@pytest.mark.usefixtures("no_network")
class TestNothingButTheFile:
    @pytest.mark.parametrize(
        "target", ["http://127.0.0.1:9/sound.wav", "sound.wav"], ids=["network", "other file"]
    )
    def test_a_playlist_is_not_followed(self, target: str, tmp_path: Path) -> None:
        """A text file that names another source is no recording."""
        write_recording(tmp_path / "sound.wav", make_tone(seconds=1))
        path = tmp_path / "list.m3u8"
        path.write_text(f"#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\n{target}\n")
        with pytest.raises(UnreadableRecording, match="is not a sound recording"):
            probe_recording(path)

    def test_a_name_that_looks_like_an_address_is_a_file(self, tmp_path: Path) -> None:
        """What stands before a colon is part of the name, not a protocol."""
        path = write_recording(tmp_path / "plain.wav", make_tone(seconds=1))
        odd = path.rename(tmp_path / "http:leaf 14.wav")
        assert probe_recording(odd).duration_s == pytest.approx(1.0)


class TestWallClock:
    def probe(self, path: Path, **tags: str) -> RecordingFacts:
        samples = (make_tone(seconds=1) * 32767).astype(np.int16)
        frame = av.AudioFrame.from_ndarray(samples[None], "s16", layout="mono")
        frame.sample_rate = SAMPLE_RATE_HZ
        with av.open(
            path, "w", options={"write_bext": "1"} if path.suffix == ".wav" else {}
        ) as made:
            made.metadata.update(tags)
            stream = made.add_stream("pcm_s16le" if path.suffix == ".wav" else "aac", rate=16_000)
            resampler = av.AudioResampler(
                stream.format.name,
                "mono",
                16_000,
                frame_size=stream.codec_context.frame_size or 4096,
            )
            for piece in [*resampler.resample(frame), *resampler.resample(None)]:
                made.mux(stream.encode(piece))
            made.mux(stream.encode(None))
        return probe_recording(path)

    def test_m4a_says_when_in_utc(self, tmp_path: Path) -> None:
        facts = self.probe(tmp_path / "a.m4a", creation_time="2031-05-12T09:40:00Z")
        assert facts.recorded_at == "2031-05-12T09:40:00+00:00"

    def test_no_clock_is_no_time(self, tmp_path: Path) -> None:
        assert self.probe(tmp_path / "a.m4a").recorded_at is None

    def test_a_bare_year_is_no_time(self, tmp_path: Path) -> None:
        assert self.probe(tmp_path / "a.m4a", date="2031").recorded_at is None

    def test_broadcast_wav_says_when_by_the_local_clock(self, tmp_path: Path) -> None:
        """EBU Tech 3285, bext: OriginationDate and OriginationTime have no zone."""
        path = tmp_path / "b.wav"
        _write_wav_header(path, data_bytes=32_000, bext=(b"2031-05-12", b"09:40:00"))
        with path.open("ab") as file:
            file.write(bytes(32_000))
        recorded_at = probe_recording(path).recorded_at
        assert recorded_at is not None
        assert recorded_at.startswith("2031-05-12T09:40:00")
        assert len(recorded_at) > len("2031-05-12T09:40:00")


def _write_wav_header(
    path: Path, *, data_bytes: int, rate_hz: int = 16_000, bext: tuple[bytes, bytes] | None = None
) -> None:
    chunk = b""
    if bext is not None:
        body = bytes(256 + 32 + 32) + bext[0] + bext[1] + bytes(8 + 2 + 64 + 190)
        chunk = b"bext" + struct.pack("<I", len(body)) + body
    form = struct.pack("<HHIIHH", 1, 1, rate_hz, min(2 * rate_hz, 0xFFFFFFFF), 2, 16)
    size = min(36 + len(chunk) + data_bytes, 0xFFFFFFFF)
    path.write_bytes(
        b"RIFF" + struct.pack("<I", size) + b"WAVE" + chunk
        + b"fmt " + struct.pack("<I", 16) + form + b"data" + struct.pack("<I", data_bytes)
    )  # fmt: skip
