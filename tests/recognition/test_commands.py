"""Commands have a second pair of ears, and dictation is never taken for one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.recognition.recordings import read_sound
from voicelog.recognition.commands import LONGEST_COMMAND_S, CommandListener
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Segment
from voicelog.recognition.segments import iter_segments
from voicelog.session.live.orders import order_wordings
from voicelog.settings import read_settings
from voicelog.testing import ScriptedListener
from voicelog.wiring.live import make_command_listener

ROOT = Path(__file__).parents[2]
DEMO = sorted((ROOT / "demo_data" / "recordings").glob("*.flac"))
PEOPLE = sorted((ROOT / "tests" / "reference" / "an4" / "flac").glob("*.flac"))


@pytest.fixture(scope="module")
def listener() -> CommandListener:
    made = make_command_listener(read_settings(environment={}))
    assert made is not None
    return made


def test_in_the_demo_it_finds_the_two_commands(listener: CommandListener) -> None:
    """Of some sixty notes; "this" is not among its words, and "check this" is "check that"."""
    found = [listener.find(segment) for path in DEMO for segment in iter_segments(path)]
    assert [heard.text for heard in found if heard is not None] == ["strike that", "check that"]
    assert len(found) > 50


def test_people_who_give_no_command_are_not_obeyed(listener: CommandListener) -> None:
    """Letters and numbers spoken by people (AN4, Carnegie Mellon University)."""
    for path in PEOPLE:
        samples = read_sound(path)
        segment = Segment(samples=samples, start_s=0.0, end_s=len(samples) / SAMPLE_RATE_HZ)
        assert listener.find(segment) is None


def test_words_come_while_they_are_spoken(listener: CommandListener) -> None:
    """Each is there before the next one is over, and stays."""
    segment = next(iter_segments(DEMO[1]))
    stream = listener.open_stream()
    blocks = np.array_split(segment.samples, len(segment.samples) // 1600)
    said = [stream.push(block) for block in blocks]
    counts = [len(words.split()) for words in said]
    assert counts[0] == 0
    assert counts[-1] >= 3
    assert len(set(counts)) >= 3
    assert " ".join(word.text for word in stream.finish()).startswith(said[-1])


def test_only_a_whole_note_is_a_command() -> None:
    """Not a part of one, and nothing that lasts longer than a command."""
    samples = np.zeros(SAMPLE_RATE_HZ, dtype=np.float32)
    short = Segment(samples=samples, start_s=0.0, end_s=1.0, speech=())
    long = Segment(samples=samples, start_s=0.0, end_s=LONGEST_COMMAND_S + 1, speech=())
    said = ["strike that", "strike that photograph", "strike that"]
    listener = CommandListener(ScriptedListener(said), order_wordings())
    assert listener.find(short) is not None
    assert listener.find(short) is None
    assert listener.find(long) is None
    assert listener.engine == "scripted along"


def test_a_command_has_its_times_in_the_recording() -> None:
    """Counted from where the note begins there."""
    listener = CommandListener(ScriptedListener(["strike that"]), order_wordings())
    heard = listener.choose(listener.open_stream().finish(), start_s=60.0, end_s=62.0)
    assert heard is not None
    assert [(word.start_s, word.end_s) for word in heard.words] == [(60.0, 61.0), (61.0, 62.0)]
