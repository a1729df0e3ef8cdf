"""Hearing along: words for the screen, commands that the full recogniser bears out."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest

from tests.session.live.test_hearing import note
from voicelog.domain.note import Word
from voicelog.recognition.commands import CommandListener
from voicelog.recognition.recogniser import Samples, make_heard
from voicelog.session.live.along import HearingAlong
from voicelog.session.live.backlog import Backlog, SpokenNote
from voicelog.session.live.hearing import HeardNote, HearingThread
from voicelog.session.live.likeness import Likeness
from voicelog.session.live.orders import order_wordings
from voicelog.testing import ScriptedListener, ScriptedRecogniser, ScriptedStream

BLOCK = np.zeros(1600, dtype=np.float32)


@pytest.fixture(scope="module")
def likeness() -> Likeness:
    return Likeness(order_wordings())


BORNE_OUT = (
    # given, heard by the full recogniser, whether the command holds
    ("pause log", "Paws log.", True),
    ("pause log", "Pause, lock.", True),
    ("pause log", "Post log.", True),
    ("resume log", "Resume blog.", True),
    ("strike that", "Strike back.", True),
    ("strike that", "Stripe that.", True),
    ("check that", "Check mat.", True),
    ("close volume", "Clothes volume.", True),
    ("read that back", "Read the back.", True),
    ("scratch that", "Scratches at.", True),
    # A command as well: the full recogniser's own words are the better evidence.
    ("strike that", "Strike that.", False),
    ("check that", "Check this.", False),
    # Something else was said, and the small recogniser was wrong.
    ("strike that", "A photograph.", False),
    ("pause log", "Post card.", False),
    ("close volume", "Glue.", False),
    ("check that", "A chequered cloth.", False),
    ("read that back", "Red cover, torn at the back.", False),
    ("strike that", "", False),
    ("resume log", "1948", False),
)


@pytest.mark.parametrize(("command", "heard", "holds"), BORNE_OUT)
def test_a_command_holds_only_where_it_sounds_like_what_was_heard(
    likeness: Likeness,
    command: str,
    heard: str,
    holds: bool,  # noqa: FBT001 - a table
) -> None:
    """Two recognisers have to agree, in sound if not in spelling."""
    assert likeness.bears_out(command, heard) is holds


class Ears:
    """The full recogniser and the one that hears along, side by side."""

    def __init__(self, likeness: Likeness, *, full: list[str], along: list[str]) -> None:
        self.heard: list[HeardNote] = []
        listener = CommandListener(ScriptedListener(along), order_wordings())
        self.along = HearingAlong(listener, likeness)
        self.hearing = HearingThread(
            lambda: ScriptedRecogniser(full),
            Backlog(lambda _note: BLOCK),
            along=self.along,
            on_ready=lambda: None,
            on_heard=self.heard.append,
        )

    def say(self, *notes: SpokenNote) -> None:
        for one in notes:
            self.along.push(BLOCK)
            self.along.close(one.key)
            self.hearing.take(one)
        self.along.start()
        self.hearing.start()
        self.hearing.finish()
        self.hearing.join(timeout=60)
        self.along.finish()
        self.along.join(timeout=60)
        assert not self.hearing.is_alive()
        assert not self.along.is_alive()


def test_what_both_heard_is_a_command_and_the_note_says_by_whom(likeness: Likeness) -> None:
    """The other reading is kept beside it; all else is left as the full recogniser wrote it."""
    ears = Ears(
        likeness,
        full=["Stripe that.", "A postcard.", "Strike that.", "A photograph."],
        along=["strike that", "a postcard", "strike that", "strike that"],
    )
    ears.say(*(note(nth) for nth in range(1, 5)))
    assert [(one.engine, one.heard and one.heard.text) for one in ears.heard] == [
        ("scripted along", "strike that"),
        ("scripted", "A postcard."),
        ("scripted", "Strike that."),
        ("scripted", "A photograph."),
    ]
    first = ears.heard[0].heard
    assert first is not None
    assert first.alternatives == ("Stripe that.",)


class _Breaking(ScriptedListener):
    """Fails at every second note."""

    def __init__(self) -> None:
        super().__init__(["strike that"] * 4)
        self._opened = 0

    def open_stream(self) -> ScriptedStream:
        self._opened += 1
        return super().open_stream() if self._opened % 2 == 0 else _Broken("")


class _Broken(ScriptedStream):
    def finish(self) -> tuple[Word, ...]:
        raise RuntimeError("lost its way")


def test_where_it_fails_the_full_recogniser_is_enough(likeness: Likeness) -> None:
    """No note waits for it, and the next note is heard along again."""
    ears = Ears(likeness, full=["Stripe that."] * 2, along=[])
    ears.along = HearingAlong(CommandListener(_Breaking(), order_wordings()), likeness)
    ears.hearing._along = ears.along
    ears.say(note(1), note(2))
    assert [one.heard and one.heard.text for one in ears.heard] == ["Stripe that.", "strike that"]


class _Waiting(ScriptedStream):
    """Says nothing until it may."""

    def __init__(self, line: str, may: threading.Event) -> None:
        super().__init__(line)
        self._may = may

    def push(self, samples: Samples) -> str:
        self._may.wait(timeout=60)
        return super().push(samples)


def test_the_words_so_far_are_there_for_the_screen(likeness: Likeness) -> None:
    """And gone when the note is over, or was none."""
    along = HearingAlong(CommandListener(ScriptedListener(["leaf two", "a click"]), ()), likeness)
    along.start()
    for _ in range(2):
        along.push(BLOCK)
    _wait_until(lambda: along.words == "leaf two")
    along.close(("a.wav", 0.0, 1.0))
    _wait_until(lambda: along.words == "")
    along.push(BLOCK)
    _wait_until(lambda: along.words == "a")
    along.forget()
    _wait_until(lambda: along.words == "")
    assert along.find_command(("a.wav", 0.0, 1.0), make_heard([])) is None
    along.finish()


def test_a_machine_that_is_far_behind_goes_without(likeness: Likeness) -> None:
    """What waits is bounded; a note that was heard in part only is no command."""
    may = threading.Event()
    listener = CommandListener(ScriptedListener([]), order_wordings())
    listener.open_stream = lambda: _Waiting("strike that", may)  # type: ignore[method-assign]
    along = HearingAlong(listener, likeness)
    along.start()
    for _ in range(2000):
        along.push(BLOCK)
    along.close(("a.wav", 0.0, 1.0))
    assert along._inbox.qsize() < 700
    may.set()
    stripe = make_heard([Word(text="Stripe"), Word(text="that.")])
    assert along.find_command(("a.wav", 0.0, 1.0), stripe) is None
    along.finish()


def _wait_until(condition: object) -> None:
    give_up_at = time.monotonic() + 60
    while not condition():  # type: ignore[operator]
        assert time.monotonic() < give_up_at
        time.sleep(0.005)
