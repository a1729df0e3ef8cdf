from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.recognition.recordings import SPOKEN_NOTES, read_sound
from tests.session.live.reading import read_events, read_wav
from tests.session.live.sound_server import SoundServer
from voicelog.errors import MicrophoneMissing, SourceLost
from voicelog.session.live.journal import Event
from voicelog.session.live.microphone import (
    Input,
    MicrophoneSource,
    find_input,
    list_inputs,
)
from voicelog.session.live.recorder import Recorder
from voicelog.session.live.resampling import StreamResampler
from voicelog.session.live.ring import Ring
from voicelog.session.live.sources import Pcm, ReturningSource, SoundSource

NOTICED_WITHIN_S = 2.0


def make_input(number: int, name: str, *, is_default: bool = False) -> Input:
    return Input(number=number, name=name, channels=1, sample_rate_hz=48_000, is_default=is_default)


HEADSET = make_input(2, "USB Headset: Audio (hw:1,0)")
CAMERA = make_input(3, "USB Camera: Audio (hw:2,0)")
DESK = make_input(5, "Desk microphone 2", is_default=True)
INPUTS = (HEADSET, CAMERA, DESK)


class TestFindingAnInput:
    @pytest.mark.parametrize(
        ("wanted", "found"),
        [
            ("", DESK),
            ("2", HEADSET),
            ("5", DESK),
            ("headset", HEADSET),
            ("Desk microphone 2", DESK),
        ],
    )
    def test_a_number_a_name_or_part_of_one_finds_it(self, wanted: str, found: Input) -> None:
        assert find_input(INPUTS, wanted) == found

    def test_two_that_match_are_told_apart_by_number(self) -> None:
        with pytest.raises(MicrophoneMissing, match=r"Several .*\(2 USB Headset.* 3 USB Camera"):
            find_input(INPUTS, "usb")

    def test_a_missing_one_is_answered_with_what_is_there(self) -> None:
        with pytest.raises(MicrophoneMissing, match=r"'lapel'; plug it in, .*5 Desk"):
            find_input(INPUTS, "lapel")

    def test_without_any_the_person_is_told_to_plug_one_in(self) -> None:
        with pytest.raises(MicrophoneMissing, match="plug one in"):
            find_input(())


class TestRing:
    def test_frames_come_out_as_they_went_in(self) -> None:
        """Also where they wrap around the end, whatever the sizes."""
        ring = Ring(1000, channels=1)
        sent = np.arange(30_000, dtype=np.int16).reshape(-1, 1)
        sizes = np.random.default_rng(7).integers(1, 400, size=500)
        taken, start = [], 0
        for size in sizes:
            ring.put(sent[start : start + size])
            start = min(len(sent), start + size)
            if ring.available > 500:
                taken.append(ring.take()[0])
        taken.append(ring.take()[0])
        assert np.array_equal(np.concatenate(taken), sent[:start])

    def test_what_finds_no_room_is_counted_where_it_is_missing(self) -> None:
        ring = Ring(10, channels=1)
        frames = np.arange(8, dtype=np.int16).reshape(-1, 1)
        ring.put(frames)
        ring.put(frames)
        assert ring.take()[1] == 0
        ring.put(frames)
        after, dropped = ring.take()
        assert (len(after), dropped) == (8, 8)
        ring.put(frames)
        assert ring.take()[1] == 0

    def test_two_threads_need_no_lock(self) -> None:
        ring = Ring(2_000, channels=1)
        sent = np.arange(200_000).astype(np.int16).reshape(-1, 1)

        def put_all() -> None:
            for start in range(0, len(sent), 160):
                while ring.available > 1_800:
                    time.sleep(0)
                ring.put(sent[start : start + 160])

        putting = threading.Thread(target=put_all)
        putting.start()
        taken: list[Pcm] = []
        while sum(map(len, taken)) < len(sent):
            frames, dropped = ring.take()
            assert dropped == 0
            taken.append(frames[:, 0])
        putting.join()
        assert np.array_equal(np.concatenate(taken), sent[:, 0])


class StuckStream:
    """A stream that says that it is active and gives nothing."""

    active = True

    def abort(self, *, ignore_errors: bool) -> None:
        pass

    def close(self, *, ignore_errors: bool) -> None:
        pass


def test_a_microphone_that_falls_silent_without_a_word_is_noticed() -> None:
    """Some drivers go on as if nothing had happened; then only the clock tells."""
    now_s = 100.0

    def sleep(seconds: float) -> None:
        nonlocal now_s
        now_s += seconds

    source = MicrophoneSource(monotonic=lambda: now_s, sleep=sleep)
    source.sample_rate_hz = 48_000
    source._ring = Ring(48_000, channels=2)
    source._stream = StuckStream()
    source._sound_due_at = now_s + 5
    source._ring.put(np.ones((4_800, 2), dtype=np.int16))
    block = source.read(timeout_s=1)
    assert block is not None
    last_sound_at = now_s
    with pytest.raises(SourceLost, match="plug it in again"):
        read_for(source, 10)
    assert now_s - last_sound_at < NOTICED_WITHIN_S


def test_two_channels_that_cancel_each_other_are_not_mixed_away() -> None:
    source = MicrophoneSource()
    source.sample_rate_hz = 48_000
    source._ring = Ring(48_000, channels=2)
    source._stream = StuckStream()
    voice = np.full(4_800, 1_000, dtype=np.int16)
    source._ring.put(np.stack([voice, -voice], axis=1))
    block = source.read(timeout_s=1)
    assert block is not None
    assert np.abs(block.samples).min() == 1_000


def read_for(source: MicrophoneSource, seconds: float) -> Pcm:
    resampler = StreamResampler(source.sample_rate_hz)
    pieces: list[Pcm] = []
    while sum(map(len, pieces)) < seconds * 16_000:
        block = source.read(timeout_s=2)
        if block is not None:
            assert block.dropped == 0
            pieces.append(resampler.push(block.samples))
    return np.concatenate(pieces)


def find_likeness(heard: Pcm, said: Pcm) -> float:
    """Return how like each other two sounds are once laid upon each other, 1 for the same.

    Args:
        heard: a part of what was said.
        said: all of it.
    """
    size = 1 << int(np.ceil(np.log2(len(heard) + len(said))))
    product = np.fft.rfft(said, size) * np.conj(np.fft.rfft(heard, size))
    shift = int(np.fft.irfft(product, size)[: len(said)].argmax())
    return float(np.corrcoef(heard, said[shift : shift + len(heard)])[0, 1])


class TestRealSound:
    """Through a real sound server, ALSA and PortAudio."""

    def test_what_is_said_comes_in_whole(self, sound_server: SoundServer) -> None:
        with MicrophoneSource() as source:
            sound_server.play(SPOKEN_NOTES)
            heard = read_for(source, 4)
        said = (read_sound(SPOKEN_NOTES) * 32767).astype(np.int16)
        begin = int(np.flatnonzero(np.abs(heard) > 200)[0])
        likeness = find_likeness(heard[begin : begin + 24_000], said)
        assert likeness > 0.95

    def test_its_inputs_are_listed(self, sound_server: SoundServer) -> None:
        del sound_server
        assert sum(each.is_default for each in list_inputs()) == 1
        assert find_input(list_inputs(), "default").sample_rate_hz >= 16_000

    def test_pulled_out_and_put_back(self, sound_server: SoundServer, tmp_path: Path) -> None:
        """Noticed, back by itself, and the gap is written down as a gap."""
        lost_at: list[float] = []
        returned_at: list[float] = []
        source = ReturningSource(
            lambda: MicrophoneSource(refresh=True),
            on_lost=lambda _loss: lost_at.append(time.monotonic()),
            on_return=lambda _source: returned_at.append(time.monotonic()),
        )
        with Recorder(tmp_path) as recorder, source:
            record_for(source, recorder, until=lambda: recorder.recorded_s > 1)
            sound_server.unplug()
            record_for(source, recorder, until=lambda: bool(lost_at))
            time.sleep(1)
            sound_server.plug_in()
            kept_s = recorder.recorded_s
            record_for(source, recorder, until=lambda: recorder.recorded_s > kept_s + 0.5)
        assert len(returned_at) == 1
        gaps = [line for line in read_events(tmp_path) if line.event is Event.GAP]
        assert [line.facts["why"] for line in gaps] == ["no sound came"]
        assert gaps[0].facts["lost_s"] > 1
        assert [len(read_wav(path)) > 0 for path in sorted(tmp_path.glob("*.wav"))] == [True, True]

    def test_a_sound_server_that_dies(self, sound_server: SoundServer) -> None:
        with MicrophoneSource() as source:
            read_for(source, 0.5)
            sound_server.stop()
            with pytest.raises(SourceLost, match="is gone"):
                read_for(source, 60)

    def test_the_doctor_says_how_it_sounds(self, sound_server: SoundServer) -> None:
        sound_server.play(SPOKEN_NOTES)
        done = subprocess.run(
            (sys.executable, "-m", "voicelog", "doctor", "--microphone"),
            env=dict(os.environ),
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        )
        assert done.stdout.splitlines()[-1].startswith("Clear: ")
        assert done.returncode == 0


def record_for(source: SoundSource, recorder: Recorder, *, until: Callable[[], bool]) -> None:
    give_up_at = time.monotonic() + 60
    while not until():
        assert time.monotonic() < give_up_at, "waited in vain"
        block = source.read(timeout_s=0.1)
        if block is not None:
            recorder.write(block)
