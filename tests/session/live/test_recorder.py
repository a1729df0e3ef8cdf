from __future__ import annotations

import shutil
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tests.recognition.recordings import SPOKEN_NOTES, find_pitch_hz, read_sound
from tests.session.live.reading import read_all, read_events, read_wav
from voicelog.errors import DiskFull, StoreError
from voicelog.recognition.audio import probe_recording
from voicelog.recognition.segments import SegmentOptions, iter_segments
from voicelog.session.live.clocks import Clocks
from voicelog.session.live.growing_wav import HEADER_BYTES, mend_wav
from voicelog.session.live.journal import Event, Line
from voicelog.session.live.recorder import Piece, Recorder, RecorderOptions
from voicelog.session.live.session_files import Machine, Occasion, RecorderWatcher
from voicelog.session.live.sources import Block, Pcm
from voicelog.store.recording import Recording

HERE = Path(__file__).parent
RATE_HZ = 16_000


class Bench:
    """A made-up machine: its clocks, its disk, and a source that speaks on time."""

    def __init__(self, *, rate_hz: int = RATE_HZ) -> None:
        self.monotonic_s = 500.0
        self.slept_s = 70.0
        self.wall = datetime(2031, 7, 4, 9, 12, tzinfo=UTC)
        self.free_bytes = 10**12
        self.rate_hz = rate_hz
        self.machine = Machine(
            clocks=Clocks(
                monotonic=lambda: self.monotonic_s,
                boot=lambda: self.monotonic_s + self.slept_s,
                wall=lambda: self.wall,
            ),
            free_bytes=lambda _folder: self.free_bytes,
        )

    def wait(self, seconds: float) -> None:
        self.monotonic_s += seconds
        self.wall += timedelta(seconds=seconds)

    def sleep(self, seconds: float) -> None:
        self.slept_s += seconds
        self.wall += timedelta(seconds=seconds)

    def say(
        self,
        recorder: Recorder,
        samples: Pcm,
        *,
        dropped: int = 0,
        block: int = 1_600,
        into: list[Piece] | None = None,
    ) -> list[Piece]:
        """Let the samples be said in real time and recorded; return what comes back."""
        pieces: list[Piece] = [] if into is None else into
        for start in range(0, len(samples), block):
            part = samples[start : start + block]
            at = self.monotonic_s
            self.wait(len(part) / self.rate_hz)
            pieces += recorder.write(
                Block(samples=part, sample_rate_hz=self.rate_hz, at=at, dropped=dropped)
            )
            dropped = 0
        return pieces


@pytest.fixture
def bench() -> Bench:
    return Bench()


def make_noise(seconds: float, *, seed: int = 1) -> Pcm:
    noise = np.random.default_rng(seed).integers(-8_000, 8_000, round(seconds * RATE_HZ))
    return noise.astype(np.int16)


def make_tone(seconds: float, *, rate_hz: int, pitch_hz: float) -> Pcm:
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    return np.rint(16_000 * np.sin(2 * np.pi * pitch_hz * t)).astype(np.int16)


def find_lines(folder: Path, event: Event) -> list[Line]:
    return [line for line in read_events(folder) if line.event is event]


class TestWhatIsKept:
    @pytest.mark.parametrize("block", [1, 160, 1_600, 37_123])
    def test_every_sample_is_kept_in_order(self, tmp_path: Path, bench: Bench, block: int) -> None:
        """In several files, whatever the size of the blocks."""
        said = make_noise(0.2 if block == 1 else 8)
        options = RecorderOptions(file_s=0.05 if block == 1 else 2)
        with Recorder(tmp_path, options, machine=bench.machine) as recorder:
            bench.say(recorder, said, block=block)
        assert np.array_equal(read_all(tmp_path), said)
        assert len(list(tmp_path.glob("*.wav"))) > 1

    def test_pieces_say_where_their_sound_lies(self, tmp_path: Path, bench: Bench) -> None:
        with Recorder(tmp_path, RecorderOptions(file_s=2), machine=bench.machine) as recorder:
            pieces = bench.say(recorder, make_noise(5))
        for piece in pieces:
            assert piece.file is not None
            kept = read_wav(tmp_path / piece.file)
            start = round(piece.start_s * RATE_HZ)
            assert np.array_equal(kept[start : start + len(piece.samples)], piece.samples)
        for piece, following in pairwise(pieces):
            if piece.file == following.file:
                ends_s = piece.start_s + len(piece.samples) / RATE_HZ
                assert following.start_s == pytest.approx(ends_s)

    def test_other_decoders_find_nothing_wrong(self, tmp_path: Path, bench: Bench) -> None:
        """FFmpeg's, through PyAV: the length, and when it began, from the `bext` chunk."""
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(recorder, make_noise(3))
        facts = probe_recording(next(tmp_path.glob("*.wav")))
        assert (facts.duration_s, facts.damage) == (3.0, None)
        assert facts.recorded_at is not None
        assert facts.recorded_at.startswith("2031-07-04T09:12:00")

    def test_files_belong_to_their_owner_alone(self, tmp_path: Path, bench: Bench) -> None:
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(recorder, make_noise(1))
        assert {path.stat().st_mode & 0o777 for path in tmp_path.iterdir()} == {0o600}

    def test_the_log_is_told_of_each_file_before_and_after(
        self, tmp_path: Path, bench: Bench
    ) -> None:
        told: list[tuple[str, Recording]] = []
        watcher = RecorderWatcher(
            begun=lambda recording: told.append(("begun", recording)),
            sealed=lambda recording: told.append(("sealed", recording)),
        )
        with Recorder(
            tmp_path,
            RecorderOptions(file_s=1),
            occasion=Occasion(handler="Ida"),
            watcher=watcher,
            machine=bench.machine,
        ) as recorder:
            bench.say(recorder, make_noise(2.5))
        assert [what for what, _ in told] == ["begun", "sealed"] * (len(told) // 2)
        for (_, begun), (_, sealed) in zip(told[::2], told[1::2], strict=True):
            assert (begun.file, begun.uid, begun.handler) == (sealed.file, sealed.uid, "Ida")
            assert (begun.sha256, len(sealed.sha256)) == ("", 64)
            assert sealed.size_bytes == (tmp_path / sealed.file).stat().st_size

    def test_a_file_is_valid_whenever_somebody_looks(self, tmp_path: Path, bench: Bench) -> None:
        """And never says that it holds more than was brought to the disk."""
        folder = tmp_path / "audio"
        folder.mkdir()
        said = make_noise(4)
        with Recorder(folder, RecorderOptions(file_s=1.5), machine=bench.machine) as recorder:
            for start in range(0, len(said), 1_000):
                bench.say(recorder, said[start : start + 1_000])
                seen = read_all(folder)
                assert np.array_equal(seen, said[: len(seen)])
                assert len(said[: start + 1_000]) - len(seen) <= RATE_HZ


class TestResampling:
    @pytest.mark.parametrize("rate_hz", [8_000, 11_025, 32_000, 44_100, 48_000, 96_000])
    def test_any_rate_becomes_16_000(self, tmp_path: Path, rate_hz: int) -> None:
        """Same length, same pitch; both found again in the file."""
        bench = Bench(rate_hz=rate_hz)
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(
                recorder, make_tone(2, rate_hz=rate_hz, pitch_hz=440), block=rate_hz // 20 + 7
            )
        kept = read_all(tmp_path)
        assert len(kept) == pytest.approx(2 * RATE_HZ, abs=0.002 * RATE_HZ)
        assert find_pitch_hz(kept.astype(np.float32) / 32768) == pytest.approx(440, abs=1)

    @pytest.mark.parametrize(
        ("pitch_hz", "lowest_db", "highest_db"),
        [(300, -0.5, 0.5), (6_500, -0.5, 0.5), (9_500, -200, -55), (15_000, -200, -55)],
    )
    def test_what_16_000_cannot_hold_does_not_come_back_as_noise(
        self, tmp_path: Path, pitch_hz: float, lowest_db: float, highest_db: float
    ) -> None:
        """What lies above 8 kHz would fold into the speech if it were not taken away."""
        bench = Bench(rate_hz=48_000)
        tone = make_tone(2, rate_hz=48_000, pitch_hz=pitch_hz)
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(recorder, tone)
        kept = read_all(tmp_path)[2_000:-2_000].astype(float)
        change_db = 20 * np.log10(max(kept.std(), 1e-3) / tone.std())
        assert lowest_db < change_db < highest_db

    def test_another_microphone_may_have_another_rate(self, tmp_path: Path, bench: Bench) -> None:
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            for rate_hz in (44_100, 48_000, 16_000):
                bench.rate_hz = rate_hz
                bench.say(recorder, make_tone(1, rate_hz=rate_hz, pitch_hz=440))
        assert len(read_all(tmp_path)) == pytest.approx(3 * RATE_HZ, abs=0.005 * RATE_HZ)


class TestNewFiles:
    def test_a_new_file_never_begins_in_a_word(self, tmp_path: Path, bench: Bench) -> None:
        """Real speech, with the noise of a room: each cut lies where nobody speaks."""
        spoken = np.rint(read_sound(SPOKEN_NOTES) * 32767)
        room = np.random.default_rng(5).normal(0, 30, len(spoken))
        said = (spoken + room).astype(np.int16)
        with Recorder(tmp_path, RecorderOptions(file_s=5.5), machine=bench.machine) as recorder:
            bench.say(recorder, said)
        segments = list(iter_segments(SPOKEN_NOTES, SegmentOptions()))
        cuts = np.cumsum([len(read_wav(path)) for path in sorted(tmp_path.glob("*.wav"))])[:-1]
        assert len(cuts) >= 2
        for cut_s in cuts / RATE_HZ:
            for segment in segments:
                for part in segment.speech or ():
                    assert not part.start_s < cut_s < part.end_s

    def test_endless_noise_is_cut_all_the_same(self, tmp_path: Path, bench: Bench) -> None:
        said = np.concatenate([np.zeros(32_000, dtype=np.int16), make_noise(20)])
        with Recorder(tmp_path, RecorderOptions(file_s=4), machine=bench.machine) as recorder:
            bench.say(recorder, said)
        lengths = [len(read_wav(path)) / RATE_HZ for path in sorted(tmp_path.glob("*.wav"))]
        assert max(lengths) == pytest.approx(6, abs=0.2)

    def test_sessions_that_begin_in_one_second_do_not_meet(
        self, tmp_path: Path, bench: Bench
    ) -> None:
        for seed in (1, 2):
            with Recorder(tmp_path, machine=bench.machine) as recorder:
                bench.say(recorder, make_noise(0.5, seed=seed))
            bench.wall -= timedelta(seconds=0.5)
        assert len(list(tmp_path.glob("*.wav"))) == 2


class TestPausing:
    def test_what_is_said_while_paused_is_in_no_file(self, tmp_path: Path, bench: Bench) -> None:
        """Looked for, byte by byte, in everything that the session wrote."""
        before, private, after = (make_noise(2, seed=seed) for seed in (1, 2, 3))
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(recorder, before)
            recorder.pause()
            heard = bench.say(recorder, private)
            recorder.resume()
            bench.say(recorder, after)
        assert np.array_equal(read_all(tmp_path), np.concatenate([before, after]))
        written = b"".join(path.read_bytes() for path in tmp_path.iterdir())
        for start in range(0, len(private), 1_600):
            assert private[start : start + 16].tobytes() not in written
        assert np.array_equal(np.concatenate([piece.samples for piece in heard]), private)
        assert {piece.file for piece in heard} == {None}
        assert find_lines(tmp_path, Event.GAP) == []

    def test_what_was_said_after_the_word_to_pause_is_forgotten(
        self, tmp_path: Path, bench: Bench
    ) -> None:
        """It is only understood a little later, and was on the disk by then."""
        said = make_noise(3)
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(recorder, said)
            recorder.pause(keep_to_s=1.5)
        written = b"".join(path.read_bytes() for path in tmp_path.iterdir())
        assert np.array_equal(read_all(tmp_path), said[: round(1.5 * RATE_HZ)])
        assert said[round(1.5 * RATE_HZ) :][:16].tobytes() not in written

    def test_pausing_twice_and_resuming_twice_is_harmless(
        self, tmp_path: Path, bench: Bench
    ) -> None:
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            recorder.resume()
            recorder.pause()
            recorder.pause()
            assert recorder.is_paused
            recorder.resume()
            recorder.resume()
            bench.say(recorder, make_noise(1))
        assert len(read_all(tmp_path)) == RATE_HZ


class TestGaps:
    def test_a_source_that_was_away_leaves_a_gap(self, tmp_path: Path, bench: Bench) -> None:
        """The files on both sides are whole, and the journal says how much is missing."""
        gaps: list[tuple[str, float]] = []
        watcher = RecorderWatcher(gap=lambda why, lost_s: gaps.append((why, lost_s)))
        with Recorder(tmp_path, watcher=watcher, machine=bench.machine) as recorder:
            bench.say(recorder, make_noise(2))
            bench.wait(7.25)
            bench.say(recorder, make_noise(1))
        assert [len(read_wav(path)) for path in sorted(tmp_path.glob("*.wav"))] == [32_000, 16_000]
        (line,) = find_lines(tmp_path, Event.GAP)
        assert line.facts["lost_s"] == pytest.approx(7.25)
        assert gaps == [("no sound came", pytest.approx(7.25))]
        begun = [line.facts["recorded_at"] for line in find_lines(tmp_path, Event.FILE)]
        first, second = map(datetime.fromisoformat, begun)
        assert second - first == timedelta(seconds=9.25)

    def test_a_few_lost_samples_become_as_much_silence(self, tmp_path: Path, bench: Bench) -> None:
        before, after = make_noise(1), make_noise(1, seed=2)
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(recorder, before)
            bench.say(recorder, after, dropped=800)
        silence = np.zeros(800, dtype=np.int16)
        assert np.array_equal(read_all(tmp_path), np.concatenate([before, silence, after]))
        (line,) = find_lines(tmp_path, Event.FILLED)
        assert (line.facts["at_s"], line.facts["lost_s"]) == (1.0, 0.05)

    def test_many_lost_samples_are_a_gap(self, tmp_path: Path, bench: Bench) -> None:
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(recorder, make_noise(1))
            bench.say(recorder, make_noise(1), dropped=16_000)
        (line,) = find_lines(tmp_path, Event.GAP)
        assert line.facts == {"why": "sound was lost in the computer", "lost_s": 1.0}

    def test_a_jittery_clock_is_no_gap(self, tmp_path: Path, bench: Bench) -> None:
        """Sound cards hand over their sound a little early or late."""
        jitter = np.random.default_rng(2).uniform(-0.1, 0.1, 40)
        said = make_noise(4)
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            for nth, late_s in enumerate(jitter):
                bench.monotonic_s += late_s
                bench.say(recorder, said[nth * 1_600 : (nth + 1) * 1_600])
                bench.monotonic_s -= late_s
        assert np.array_equal(read_all(tmp_path), said)
        assert len(list(tmp_path.glob("*.wav"))) == 1


class TestClocks:
    def test_a_machine_that_slept_leaves_a_gap(self, tmp_path: Path, bench: Bench) -> None:
        with Recorder(tmp_path, machine=bench.machine) as recorder:
            bench.say(recorder, make_noise(1))
            bench.sleep(3_600)
            bench.say(recorder, make_noise(1))
        (line,) = find_lines(tmp_path, Event.GAP)
        assert line.facts == {"why": "the computer slept", "lost_s": 3_600.0}
        assert find_lines(tmp_path, Event.CLOCK_SET) == []
        assert len(read_all(tmp_path)) == 2 * RATE_HZ

    @pytest.mark.parametrize("by_s", [-7_200.0, -3.0, 3.0, 86_400.0])
    def test_a_clock_that_is_set_moves_no_sound(
        self, tmp_path: Path, bench: Bench, by_s: float
    ) -> None:
        """Nothing is lost or doubled, and the journal says by how much it was set."""
        said = make_noise(4)
        with Recorder(tmp_path, RecorderOptions(file_s=1.5), machine=bench.machine) as recorder:
            bench.say(recorder, said[: 2 * RATE_HZ])
            bench.wall += timedelta(seconds=by_s)
            bench.say(recorder, said[2 * RATE_HZ :])
        assert np.array_equal(read_all(tmp_path), said)
        assert [line.facts["by_s"] for line in find_lines(tmp_path, Event.CLOCK_SET)] == [by_s]
        assert find_lines(tmp_path, Event.GAP) == []


class TestDiskNearlyFull:
    def test_a_warning_comes_once_below_500_mb(self, tmp_path: Path, bench: Bench) -> None:
        warnings: list[int] = []
        watcher = RecorderWatcher(disk_low=warnings.append)
        with Recorder(tmp_path, watcher=watcher, machine=bench.machine) as recorder:
            bench.free_bytes = 500_000_000
            bench.say(recorder, make_noise(2))
            assert warnings == []
            bench.free_bytes = 499_999_999
            bench.say(recorder, make_noise(5))
        assert warnings == [499_999_999]
        assert len(read_all(tmp_path)) == 7 * RATE_HZ

    def test_below_50_mb_recording_stops_with_everything_safe(
        self, tmp_path: Path, bench: Bench
    ) -> None:
        """All that was said until it was noticed is kept, and all of it was handed on."""
        sealed: list[Recording] = []
        said = make_noise(6)
        pieces: list[Piece] = []
        recorder = Recorder(
            tmp_path, watcher=RecorderWatcher(sealed=sealed.append), machine=bench.machine
        )
        bench.free_bytes = 50_000_000
        bench.say(recorder, said[: 2 * RATE_HZ], into=pieces)
        bench.free_bytes = 49_999_999
        with pytest.raises(DiskFull, match=r"50 MB are left .* recording stopped"):
            bench.say(recorder, said[2 * RATE_HZ :], into=pieces)
        with pytest.raises(DiskFull, match="Make room"):
            bench.say(recorder, said[:1_600])
        recorder.close()
        kept = read_all(tmp_path)
        assert 2 * RATE_HZ < len(kept) <= 3 * RATE_HZ
        assert np.array_equal(kept, said[: len(kept)])
        assert np.array_equal(np.concatenate([piece.samples for piece in pieces]), kept)
        assert [recording.duration_s for recording in sealed] == [len(kept) / RATE_HZ]

    def test_no_session_begins_without_room(self, tmp_path: Path, bench: Bench) -> None:
        bench.free_bytes = 10_000_000
        with pytest.raises(DiskFull, match="Only 10 MB are left"):
            Recorder(tmp_path, machine=bench.machine)
        assert list(tmp_path.iterdir()) == []


SMALL_DISK = """
set -e
mount -t tmpfs -o size={size} voicelog "$1"
exec "$2" -m tests.session.live.filling_process "$1" {stop_bytes}
"""


@pytest.mark.parametrize(
    ("size", "stop_bytes", "least_s"),
    [("56m", 50_000_000, 150), ("2m", 0, 55)],
    ids=["stopped at 50 MB", "run into the wall"],
)
def test_a_disk_that_is_really_full(
    tmp_path: Path, size: str, stop_bytes: int, least_s: float
) -> None:
    """A small file system of our own, filled to the end; the process itself checks it all."""
    unshare = ("unshare", "--mount") if is_root() else ("unshare", "--map-root-user", "--mount")
    if shutil.which("unshare") is None or subprocess.call((*unshare, "true")):
        pytest.skip("this machine lets nobody mount a small file system")
    script = SMALL_DISK.format(size=size, stop_bytes=stop_bytes)
    done = subprocess.run(
        (*unshare, "sh", "-c", script, "sh", tmp_path, sys.executable),
        cwd=HERE.parents[2],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    assert float(done.stdout) >= least_s


def is_root() -> bool:
    return Path("/proc/self").stat().st_uid == 0


class BadDisk:
    """Brings the first few writes to the disk and then fails."""

    def __init__(self, *, good: int) -> None:
        self._good = good

    def __call__(self, descriptor: int) -> None:
        del descriptor
        self._good -= 1
        if self._good < 0:
            raise OSError(5, "Input/output error")


def test_a_disk_that_fails_is_one_clear_sentence(tmp_path: Path, bench: Bench) -> None:
    machine = Machine(
        clocks=bench.machine.clocks, free_bytes=lambda _folder: 10**12, sync=BadDisk(good=8)
    )
    recorder = Recorder(tmp_path, machine=machine)
    with pytest.raises(StoreError, match=r"input/output error.*check the folder"):
        bench.say(recorder, make_noise(20))


@pytest.mark.parametrize("length", [0, 1, 2, *range(HEADER_BYTES - 2, HEADER_BYTES + 4), 5_000])
def test_a_file_cut_at_any_byte_is_mended_or_left_alone(
    tmp_path: Path, bench: Bench, length: int
) -> None:
    said = make_noise(1)
    with Recorder(tmp_path, machine=bench.machine) as recorder:
        bench.say(recorder, said)
    path = next(tmp_path.glob("*.wav"))
    whole = path.read_bytes()
    path.write_bytes(whole[:length])
    facts = mend_wav(path)
    if length < HEADER_BYTES:
        assert facts is None
        assert path.read_bytes() == whole[:length]
    else:
        assert facts is not None
        assert facts.samples == (length - HEADER_BYTES) // 2
        assert np.array_equal(read_wav(path), said[: facts.samples])


def test_a_stranger_among_the_files_is_left_alone(tmp_path: Path) -> None:
    stranger = tmp_path / "live-20310704-091200-001.wav"
    stranger.write_bytes(b"RIFF\x00\x00\x00\x00WAVE" + bytes(2_000))
    assert mend_wav(stranger) is None
    assert len(stranger.read_bytes()) == 2_012
