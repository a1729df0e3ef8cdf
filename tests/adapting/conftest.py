"""One model with invented names in it, made once, and somebody who says them."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from voicelog.adapting.making import Adapted, adapt_model
from voicelog.adapting.own_words import OwnWords, parse_names
from voicelog.recognition.recogniser import Segment
from voicelog.recognition.segments import iter_segments

SHIPPED = Path(__file__).parents[2] / "models" / "vosk-bench"
SPOKEN_NAMES = Path(__file__).parent / "sounds" / "own_names.flac"
NAMES = """# Places of the Quillhaven Lamplighters
Quillhaven = quill haven
Tarnfoot = tarn foot
Ellerby = eller bee
"""


@pytest.fixture(scope="session")
def adapted(tmp_path_factory: pytest.TempPathFactory) -> Adapted:
    own = OwnWords(names=parse_names(NAMES, origin="names.txt"))
    return adapt_model(SHIPPED, tmp_path_factory.mktemp("models") / "tarn-valley", own)


@pytest.fixture(scope="session")
def spoken_names() -> tuple[Segment, ...]:
    """The notes of own_names.txt, said by a voice that no model was trained on."""
    return tuple(iter_segments(SPOKEN_NAMES))


def without_dither(model: Path, into: Path) -> Path:
    """Return a copy of a model that hears the same sound the same way each time.

    Kaldi lays random noise under all sound, against silence that is none; here sound has noise of
    its own.
    """
    copy = into / model.name
    shutil.copytree(model, copy, ignore=shutil.ignore_patterns("SHA256SUMS"))
    with (copy / "conf" / "mfcc.conf").open("a", encoding="ascii") as file:
        file.write("--dither=0\n")
    return copy


def in_a_room(samples: Sequence[float] | np.ndarray) -> np.ndarray:
    """Return 16-bit sound of a place that is never quite silent, as microphones give it."""
    room = np.random.default_rng(1).normal(0, 15, len(samples))
    return (20_000 * np.asarray(samples) + room).astype("<i2")
