"""The ear beside our own voice: the handler's notes come through, the voice never does."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from tests.recognition.recordings import read_sound
from tests.session.live.bench import ROOT, SILENCE, Do, ScriptedSource, spoken_sounds
from voicelog.domain.note import Word
from voicelog.recognition.commands import CommandListener, WordStream
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Heard, Samples, Segment, make_heard
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.live.along import HearingAlong
from voicelog.session.live.backlog import Backlog
from voicelog.session.live.ear import EarThread, EarWatcher
from voicelog.session.live.hearing import HeardNote, HearingThread
from voicelog.session.live.likeness import Likeness
from voicelog.session.live.own_voice import OwnVoice
from voicelog.session.live.recorder import Recorder

PEOPLE = sorted((ROOT / "tests" / "reference" / "an4" / "flac").glob("*.flac"))
SOURCE_BEGINS_AT = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Playing:
    """What becomes of our voice between the computer and the microphone."""

    name: str
    delay_s: float = 0.15
    swallowed_s: float = 0.0
    gaps_s: tuple[float, ...] = ()
    loudness: float = 0.4

    def sound(self, spoken: Samples) -> Samples:
        pieces = [self.silence(self.delay_s)]
        cuts = np.linspace(0, len(spoken), len(self.gaps_s) + 2).astype(int)
        for (first, last), gap_s in zip(pairwise(cuts), (*self.gaps_s, 0.0), strict=True):
            pieces += [spoken[first:last], self.silence(gap_s)]
        whole = np.concatenate(pieces) * self.loudness
        whole[: round((self.delay_s + self.swallowed_s) * SAMPLE_RATE_HZ)] = 0
        return whole.astype(np.float32)

    @staticmethod
    def silence(length_s: float) -> Samples:
        return np.zeros(round(length_s * SAMPLE_RATE_HZ), dtype=np.float32)


PLAYINGS = (
    Playing(name="a loudspeaker close by"),
    Playing(name="through slow buffers", delay_s=1.6),
    Playing(name="softly, in the next room", loudness=0.02),
    Playing(name="its first half second swallowed", swallowed_s=0.5),
    Playing(name="with one gap, on a busy computer", gaps_s=(0.4,)),
    Playing(name="with many gaps", gaps_s=(0.2, 0.35, 0.1, 0.3)),
)


class _Nothing:
    """A recogniser that these tests do without."""

    engine = model = "none"

    def recognise(self, segment: Segment) -> Heard:
        del segment
        return make_heard([])


def hear(
    folder: Path,
    source: ScriptedSource,
    own_voice: OwnVoice | None = None,
    along: HearingAlong | None = None,
    ears: list[EarThread] | None = None,
) -> list[Samples]:
    """Return the sound of each note that the ear finds; ``ears`` gets the ear that listens."""
    notes: list[HeardNote] = []
    hearing = HearingThread(
        _Nothing,
        Backlog(lambda note: note.segment.samples, held_as_sound=100),
        on_ready=lambda: None,
        on_heard=notes.append,
    )
    ear = EarThread(
        source,
        Recorder(folder),
        hearing,
        segments=SegmentOptions(),
        own_voice=own_voice or OwnVoice(),
        watcher=EarWatcher(
            over=lambda _file: None, ended=lambda _failure: hearing.finish(), along=along
        ),
    )
    if ears is not None:
        ears.append(ear)
    hearing.start()
    ear.start()
    ear.join(timeout=120)
    hearing.join(timeout=120)
    assert not hearing.is_alive()
    return [note.note.segment.samples for note in notes]


def test_a_new_file_waits_for_the_end_of_the_note(tmp_path: Path) -> None:
    """Cut in two it would be heard as two halves when the files are heard once more."""
    first, second = spoken_sounds()[:2]
    for name in ("undisturbed", "asked"):
        (tmp_path / name).mkdir()
    whole = ScriptedSource()
    whole.steps += [first, SILENCE, second, SILENCE]
    undisturbed = hear(tmp_path / "undisturbed", whole)
    ears: list[EarThread] = []
    middle = len(first) // 2
    source = ScriptedSource()
    source.steps += [
        first[:middle],
        Do(act=lambda: ears[0].begin_new_file()),  # noqa: PLW0108 - there is none yet
        first[middle:],
        SILENCE,
        second,
        SILENCE,
    ]
    notes = hear(tmp_path / "asked", source, ears=ears)
    assert len(list((tmp_path / "asked").glob("*.wav"))) == 2
    assert [len(note) for note in notes] == pytest.approx(
        [len(note) for note in undisturbed], abs=0.2 * SAMPLE_RATE_HZ
    )


@pytest.mark.parametrize("playing", PLAYINGS, ids=lambda playing: playing.name)
def test_our_voice_becomes_no_note_however_it_is_played(tmp_path: Path, playing: Playing) -> None:
    """In its place a person speaks (AN4, Carnegie Mellon University); the handler is heard."""
    voice = np.concatenate([read_sound(path) for path in PEOPLE[:2]])
    before, after = spoken_sounds()[0], spoken_sounds()[1]
    heard = playing.sound(voice)
    hiss = np.random.default_rng(7).normal(0, 0.0003, len(heard)).astype(np.float32)
    began_at = SOURCE_BEGINS_AT + (len(before) + len(SILENCE)) / SAMPLE_RATE_HZ
    own_voice = OwnVoice()
    own_voice.begin(voice, at=began_at)
    own_voice.end(at=began_at + len(heard) / SAMPLE_RATE_HZ)
    source = ScriptedSource()
    source.steps += [before, SILENCE, heard + hiss, SILENCE, SILENCE, after, SILENCE]
    notes = hear(tmp_path, source, own_voice)
    assert [round(len(note) / SAMPLE_RATE_HZ, 1) for note in notes] == pytest.approx(
        [len(before) / SAMPLE_RATE_HZ, len(after) / SAMPLE_RATE_HZ], abs=0.2
    )


def test_a_voice_in_the_ear_alone_costs_the_handler_nothing(tmp_path: Path) -> None:
    """With a headset, what is said while the voice speaks is a note like any other."""
    said = [spoken_sounds()[nth] for nth in range(3)]
    own_voice = OwnVoice()
    own_voice.begin(read_sound(PEOPLE[0]), at=SOURCE_BEGINS_AT + 0.5)
    own_voice.end(at=SOURCE_BEGINS_AT + 4.0)
    source = ScriptedSource()
    source.steps += [part for sound in said for part in (sound, SILENCE)]
    notes = hear(tmp_path, source, own_voice)
    assert len(notes) == 3


class _Keeping:
    """Keeps what it was given to hear along, a list for each note."""

    engine = model = "none"

    def __init__(self) -> None:
        self.notes: list[list[Samples]] = []

    def open_stream(self) -> WordStream:
        self.notes.append([])
        return _KeepingStream(self.notes[-1])


class _KeepingStream:
    def __init__(self, kept: list[Samples]) -> None:
        self._kept = kept

    def push(self, samples: Samples) -> str:
        self._kept.append(samples)
        return ""

    def finish(self) -> tuple[Word, ...]:
        return ()


def test_who_hears_along_gets_each_note_sample_for_sample(tmp_path: Path) -> None:
    """While it is being spoken, in many pieces; a click between notes is forgotten."""
    click = np.zeros(8000, dtype=np.float32)
    click[4000:4300] = 0.7
    source = ScriptedSource()
    for nth in range(4):
        source.steps += [spoken_sounds()[nth], SILENCE, click, SILENCE]
    keeping = _Keeping()
    along = HearingAlong(CommandListener(keeping, ()), Likeness(()))
    along.start()
    notes = hear(tmp_path, source, along=along)
    along.finish()
    along.join(timeout=60)
    kept = [one for one in keeping.notes if len(one) > 5]
    assert len(notes) == len(kept) == 4
    for note, pieces in zip(notes, kept, strict=True):
        assert np.array_equal(np.concatenate(pieces), note)
