"""The recogniser works ahead where it can, in order always."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import numpy as np

from voicelog.recognition.recogniser import Heard, Segment
from voicelog.session.live.backlog import Backlog, Marker, SpokenNote
from voicelog.session.live.hearing import HeardNote, HearingThread
from voicelog.testing import ScriptedRecogniser


def note(nth: int, *, file: str = "a.wav") -> SpokenNote:
    segment = Segment(
        samples=np.zeros(1600, dtype=np.float32), start_s=float(nth), end_s=nth + 0.5, speech=()
    )
    return SpokenNote(segment=segment, file=file, closed_at=time.monotonic())


class Counting:
    """A recogniser that says which second it was asked about."""

    engine = "scripted"
    model = "script"

    def __init__(self) -> None:
        self.asked: list[float] = []

    def recognise(self, segment: Segment) -> Heard:
        self.asked.append(segment.start_s)
        return ScriptedRecogniser([f"note {segment.start_s:.0f}"]).recognise(segment)


class Ears:
    def __init__(self) -> None:
        self.recogniser = Counting()
        self.heard: list[HeardNote] = []
        self.ready = threading.Event()
        self.backlog = Backlog(lambda _note: np.ones(1600, dtype=np.float32), held_as_sound=2)
        self.thread = HearingThread(
            lambda: self.recogniser,
            self.backlog,
            on_ready=self.ready.set,
            on_heard=self.heard.append,
        )

    def texts(self) -> list[str]:
        return [one.heard.text if one.heard else "" for one in self.heard]

    def finish(self) -> None:
        self.thread.finish()
        self.thread.join(timeout=60)
        assert not self.thread.is_alive()


def wait_until(condition: Callable[[], bool]) -> None:
    give_up_at = time.monotonic() + 60
    while not condition():
        assert time.monotonic() < give_up_at
        time.sleep(0.005)


def test_a_foreseen_note_is_decoded_once_and_before_it_is_closed() -> None:
    """The pause is used; closing the note costs nothing more."""
    ears = Ears()
    ears.thread.start()
    foreseen = note(1)
    ears.thread.foresee(foreseen)
    wait_until(lambda: ears.recogniser.asked == [1.0])
    assert ears.heard == []
    ears.thread.take(foreseen)
    ears.finish()
    assert ears.texts() == ["note 1"]
    assert ears.recogniser.asked == [1.0]


def test_a_note_that_went_on_is_decoded_again() -> None:
    """What was decoded ahead counts only for exactly that note."""
    ears = Ears()
    ears.thread.start()
    ears.thread.foresee(note(1))
    wait_until(lambda: ears.recogniser.asked == [1.0])
    ears.thread.take(note(2))
    ears.finish()
    assert ears.texts() == ["note 2"]
    assert ears.thread.decoded_in_vain == 1


def test_the_same_times_in_another_file_are_another_note() -> None:
    """Each file begins at nought."""
    ears = Ears()
    ears.thread.start()
    ears.thread.foresee(note(1, file="a.wav"))
    wait_until(lambda: ears.recogniser.asked == [1.0])
    ears.thread.take(note(1, file="b.wav"))
    ears.finish()
    assert ears.recogniser.asked == [1.0, 1.0]


def test_closed_notes_come_before_foreseen_ones_and_in_order() -> None:
    """Markers keep their place among them."""
    ears = Ears()
    told: list[int] = []
    for nth in range(1, 6):
        ears.thread.take(note(nth))
    ears.thread.take(Marker(tell=lambda: told.append(len(ears.heard))))
    ears.thread.take(note(6))
    ears.thread.foresee(note(7))
    ears.thread.start()
    ears.finish()
    assert ears.texts()[:6] == [f"note {nth}" for nth in range(1, 7)]
    assert told == [5]


def test_notes_far_back_are_held_as_addresses() -> None:
    """Their sound is read from the disk in their turn; what is nowhere else stays in memory."""
    backlog = Backlog(lambda _note: np.ones(1600, dtype=np.float32), held_as_sound=2)
    for nth in range(4):
        backlog.put(note(nth))
    backlog.put(
        SpokenNote(segment=note(4).segment, file=None, closed_at=0.0)  # said during a pause
    )
    taken = [backlog.take() for _ in range(5)]
    sums = [float(one.segment.samples.sum()) for one in taken if isinstance(one, SpokenNote)]
    assert sums == [0.0, 0.0, 1600.0, 1600.0, 0.0]
    assert backlog.take() is None


def test_the_lag_is_how_long_the_oldest_note_waits() -> None:
    """It is nought while nothing waits."""
    ears = Ears()
    assert ears.thread.lag_s(time.monotonic()) == 0
    first = note(1)
    ears.thread.take(first)
    ears.thread.take(note(2))
    assert ears.thread.lag_s(first.closed_at + 3) == 3
    assert ears.thread.waiting == 2
    ears.thread.start()
    ears.finish()
    assert ears.thread.waiting == 0
