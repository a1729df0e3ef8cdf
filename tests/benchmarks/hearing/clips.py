"""The named sets: what is said in them, by whom, and which voices may judge.

Voices and speakers are split once (``models/recipe``): *tuning* ones may be listened to
while the program is worked on, *held-out* ones only judge, with the held-back sessions. Of
the recordings of people, the vosk models have heard those called *training*.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from models.recipe.people import Part, iter_an4, iter_orders
from models.recipe.voices import FITTING, HELD_OUT, TUNING, Voice, speak
from tests.benchmarks.hearing.saying import as_spoken
from tests.gold.score import Row, read_session
from tests.recognition.spelled_strings import read_clips
from voicelog.recognition.recogniser import Samples

SEED = 20_311
GOLD = Path(__file__).parents[2] / "gold"
NEURAL = Voice(name="hibari", program="hibari", setting="1.0")
"""Judges whisper; the vosk models have heard this voice in training."""

TUNING_VOICES = tuple(voice.name for voice in (*TUNING, *FITTING))
HELD_OUT_VOICES = (*(voice.name for voice in HELD_OUT), NEURAL.name)
_VOICES = {voice.name: voice for voice in (*TUNING, *HELD_OUT, NEURAL, *FITTING)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clip:
    """One stretch of speech.

    Attributes:
        name: its name in the set.
        said: what is said, as text.
        sound: gives the clean sound.
    """

    name: str
    said: str
    sound: Callable[[], Samples]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Session:
    """Clips that follow one another; only notes give rows.

    Attributes:
        name: its name.
        clips: in order.
        rows: what a careful reader makes of them; none where they are no notes.
    """

    name: str
    clips: tuple[Clip, ...]
    rows: tuple[Row, ...] = ()


def read_gold(set_name: str, voice: str, *, least_notes: int) -> tuple[Session, ...]:
    """Return whole gold sessions, drawn by a fixed seed, until there are so many notes.

    Each voice begins with another one, so that all voices together say most of them.

    Args:
        set_name: "tuning" or "held_back".
        voice: the synthetic voice.
        least_notes: how many notes at least; there may be fewer in the set.
    """
    paths = sorted((GOLD / set_name).glob("*.gold"))
    order = np.random.default_rng(SEED).permutation(len(paths))
    drawn: list[Session] = []
    for index in np.roll(order, -list(_VOICES).index(voice)):
        if sum(len(session.clips) for session in drawn) >= least_notes:
            break
        session = read_session(paths[index])
        clips = tuple(
            make_clip(voice, f"{session.name}-{number:03}", text)
            for number, text in enumerate(session.notes, start=1)
        )
        drawn.append(Session(name=session.name, clips=clips, rows=session.rows))
    return tuple(drawn)


def make_clip(voice: str, name: str, text: str) -> Clip:
    """Return a text that a synthetic voice says."""
    return Clip(name=name, said=text, sound=lambda: speak(_VOICES[voice], as_spoken(text)))


def read_an4(folder: Path, part: Part, *, most: int) -> tuple[Session, ...]:
    """Return AN4's strings of letters and number words said by one part of its speakers."""
    speakers = {one.path.stem: one.part for one in iter_an4(folder)}
    found = [(path, said) for path, said in read_clips(folder) if speakers[path.stem] is part]
    return (_recorded(_draw(found, most), name="strings"),)


def read_orders(folder: Path, part: Part, *, most: int) -> tuple[Session, ...]:
    """Return orders of one part; their text is a recogniser's, right where people labelled it."""
    found = [(one.path, one.text) for one in iter_orders(folder) if one.part is part]
    return (_recorded(_draw(found, most), name="orders"),)


def read_slots(folder: Path) -> dict[str, tuple[str, ...]]:
    """Return, by recording of an order, the words that people labelled in it."""
    labels = json.loads((folder / "label.json").read_text("utf-8"))
    return {
        name.removesuffix(".wav"): tuple(" ".join(value.split()) for value in one["slots"].values())
        for name, one in labels.items()
    }


def _draw(found: Sequence[tuple[Path, str]], most: int) -> Sequence[tuple[Path, str]]:
    chosen = np.random.default_rng(SEED).permutation(len(found))[:most]
    return [found[index] for index in sorted(chosen)]


def _recorded(found: Iterable[tuple[Path, str]], *, name: str) -> Session:
    clips = tuple(Clip(name=path.stem, said=said, sound=_reading(path)) for path, said in found)
    return Session(name=name, clips=clips)


def _reading(path: Path) -> Callable[[], Samples]:
    def read() -> Samples:
        sound, _ = soundfile.read(path, dtype="float32")
        samples: Samples = np.asarray(sound)
        return samples

    return read
