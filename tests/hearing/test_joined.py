"""The two real engines as one recogniser."""

from __future__ import annotations

import numpy as np
import pytest

from tests.recognition.noises import KINDS, make_noise
from tests.recognition.recordings import SPOKEN_LINES, SPOKEN_NOTES
from voicelog.hearing.joined import JoinedRecogniser
from voicelog.hearing.joining import Joiner
from voicelog.recognition.recogniser import NOTHING, Heard, Segment, Stretch
from voicelog.recognition.segments import NoteCutter, SegmentOptions, iter_segments
from voicelog.settings import read_settings
from voicelog.testing import ScriptedRecogniser
from voicelog.vocabulary import load_vocabulary
from voicelog.wiring.hearing import make_recogniser


@pytest.fixture(scope="session")
def both() -> JoinedRecogniser:
    """As voicelog makes it by its default settings."""
    recogniser = make_recogniser(read_settings(environment={}), load_vocabulary())
    assert isinstance(recogniser, JoinedRecogniser)
    return recogniser


@pytest.fixture(scope="session")
def heard_notes(both: JoinedRecogniser) -> tuple[tuple[Segment, Heard], ...]:
    return tuple((segment, both.recognise(segment)) for segment in iter_segments(SPOKEN_NOTES))


def test_the_default_is_both_ears(both: JoinedRecogniser) -> None:
    """A note says which two models heard it."""
    assert both.engine == "both"
    assert "tiny.en" in both.model
    assert "vosk-bench" in both.model


def test_spoken_notes_are_heard(heard_notes: tuple[tuple[Segment, Heard], ...]) -> None:
    """Every note of the recording gives words, those of the first leaf as they were said."""
    assert len(heard_notes) == len(SPOKEN_LINES)
    assert all(heard.words for _, heard in heard_notes)
    assert heard_notes[1][1].text.lower().rstrip(".") in {"leaf fourteen recto", "leaf 14 recto"}


def test_words_lie_inside_their_note(
    heard_notes: tuple[tuple[Segment, Heard], ...],
) -> None:
    """Times are those of the recording; each word has a confidence."""
    for segment, heard in heard_notes:
        for word in heard.words:
            assert word.start_s is not None
            assert word.end_s is not None
            assert segment.start_s - 0.3 <= word.start_s <= word.end_s <= segment.end_s + 0.3
            assert word.confidence is not None


@pytest.mark.parametrize("kind", KINDS)
def test_noise_gives_no_note(kind: str, both: JoinedRecogniser) -> None:
    """The short form of ``tests.benchmarks.hearing.nobody``: hum, rustle, hiss, clicks."""
    noise = make_noise(kind, seconds=8, level_db=-25, seed=11)
    cutter = NoteCutter(SegmentOptions())
    notes = [*cutter.push(noise), *cutter.finish()]
    assert [both.recognise(note).text for note in notes] == [""] * len(notes)


def test_silence_gives_nothing_even_where_speech_is_claimed(both: JoinedRecogniser) -> None:
    silence = np.zeros(3 * 16_000, dtype=np.float32)
    claimed = (Stretch(start_s=0.0, end_s=3.0),)
    segment = Segment(samples=silence, start_s=0.0, end_s=3.0, speech=claimed)
    assert both.recognise(segment) == NOTHING


def test_both_ears_get_the_same_segment(joiner: Joiner) -> None:
    """Speech is looked for once; whoever listens is told where it is."""
    opened, closed = ScriptedRecogniser(["Verso."]), ScriptedRecogniser(["verso"])
    recogniser = JoinedRecogniser(opened, closed, joiner)
    segment = next(iter_segments(SPOKEN_NOTES))
    assert recogniser.recognise(segment).text == "Verso."
    assert opened.heard_segments == closed.heard_segments == [segment]
    assert recogniser.model == "script + script"


class Failing:
    """An ear that fails."""

    engine = "failing"
    model = "none"

    def recognise(self, segment: Segment) -> Heard:
        raise RuntimeError(f"no ear for {segment.end_s} s")


@pytest.mark.parametrize("which", ["open", "closed"])
def test_a_failing_ear_is_not_hidden(which: str, joiner: Joiner) -> None:
    """The bench makes a fresh recogniser and tries the note again; it must hear of it."""
    works = ScriptedRecogniser(["leaf two"])
    ears = (Failing(), works) if which == "open" else (works, Failing())
    segment = Segment(samples=np.zeros(16_000, dtype=np.float32), start_s=0.0, end_s=1.0)
    with pytest.raises(RuntimeError, match=r"no ear for 1\.0 s"):
        JoinedRecogniser(*ears, joiner).recognise(segment)
