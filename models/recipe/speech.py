"""The training speech as features: spoken, recorded, spoilt, and written to one folder.

    python -m models.recipe.speech UTTERANCES.jsonl PEOPLE.jsonl FOLDER

PEOPLE.jsonl names recordings of people: ``{"path", "text", "phones"}``. Everything is done
in as many processes as the machine has cores.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from models.recipe.augmentation import change_speed, spoil
from models.recipe.features import COEFFICIENTS, Features, mfcc, normalise
from models.recipe.voices import SAMPLE_RATE_HZ, find_voice, resample, speak

SYNTHETIC_COPIES = 3
PEOPLE_COPIES = 14
_SPEEDS = (0.87, 1.15)
_BATCH = 24
_LONGEST_S = 15.0
_GLOBAL_MEAN_FROM = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """One utterance, ready to be learnt.

    Attributes:
        features: normalised, shape (frames, 40), float16.
        phones: the pronunciations of each word.
        source: the voice, or "people".
    """

    features: Any
    phones: list[list[list[str]]]
    source: str


def _sound_of(line: dict[str, Any], draw: np.random.Generator) -> Any:
    if "path" in line:
        sound, rate_hz = soundfile.read(line["path"], dtype="float32")
        sound = sound if rate_hz == SAMPLE_RATE_HZ else resample(sound, rate_hz)
    else:
        voice = find_voice(line["voice"])
        sound = speak(voice, line["text"], pace=float(draw.uniform(0.85, 1.25)))
    return np.asarray(sound, dtype=np.float64)


def _spoken(job: tuple[int, Sequence[dict[str, Any]], Features | None]) -> list[Spoken]:
    seed, lines, global_mean = job
    draw = np.random.default_rng(seed)
    recent: list[Any] = []
    made: list[Spoken] = []
    for line in lines:
        sound = _sound_of(line, draw)
        if not 0.15 < len(sound) / SAMPLE_RATE_HZ < _LONGEST_S:
            continue
        recent = [*recent[-20:], sound / (np.abs(sound).max() + 1e-9)]
        is_person = "path" in line
        copies = 1 if global_mean is None else PEOPLE_COPIES if is_person else SYNTHETIC_COPIES
        for _ in range(copies):
            played = change_speed(sound, draw.uniform(*_SPEEDS))
            spoilt = spoil(played, draw, recent[:-1])
            features = mfcc(spoilt)
            needed = 3 * sum(max(map(len, word)) for word in line["phones"]) + 6
            if len(features) < needed:
                continue
            if global_mean is not None:
                features = _normalised(features, global_mean, draw)
            source = "people" if is_person else line["voice"]
            made.append(
                Spoken(features=features.astype(np.float16), phones=line["phones"], source=source)
            )
    return made


def _normalised(features: Features, global_mean: Features, draw: np.random.Generator) -> Features:
    if draw.random() < 0.5:
        return normalise(features, global_mean)
    seen = features.mean(0) + draw.standard_normal(COEFFICIENTS).astype(np.float32) * 0.5
    return normalise(
        features, global_mean, history_frames=int(draw.integers(50, 600)), history_mean=seen
    )


def _read(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text("utf-8").splitlines()]


def _batched(lines: Sequence[dict[str, Any]]) -> Iterator[Sequence[dict[str, Any]]]:
    for start in range(0, len(lines), _BATCH):
        yield lines[start : start + _BATCH]


def iter_spoken(
    lines: Sequence[dict[str, Any]], *, seed: int, global_mean: Features | None
) -> Iterator[Spoken]:
    """Yield every copy of every utterance; without a global mean, one each, as measured."""
    jobs: Iterable[Any] = (
        (seed + number, batch, global_mean) for number, batch in enumerate(_batched(lines))
    )
    with get_context("spawn").Pool(os.cpu_count()) as pool:
        for made in pool.imap_unordered(_spoken, jobs):
            yield from made


def main() -> None:
    """Write ``features.npy``, ``utterances.json`` and ``global_mean.npy``."""
    utterances, people, folder = (Path(argument) for argument in sys.argv[1:4])
    folder.mkdir(parents=True, exist_ok=True)
    began = time.monotonic()
    lines = _read(utterances)
    draw = np.random.default_rng(5)
    recorded = [line | {"path": str(people.parent / line["path"])} for line in _read(people)]
    some = [*lines[:_GLOBAL_MEAN_FROM], *recorded[:_GLOBAL_MEAN_FROM]]
    means = [
        spoken.features.astype(np.float32).mean(0)
        for spoken in iter_spoken(some, seed=1, global_mean=None)
    ]
    global_mean = np.mean(means, axis=0, dtype=np.float32)
    everything = [*lines, *recorded]
    draw.shuffle(everything)  # type: ignore[arg-type]
    parts, listed, at = [], [], 0
    for spoken in iter_spoken(everything, seed=10_000, global_mean=global_mean):
        parts.append(spoken.features)
        count = len(spoken.features)
        listed.append({"at": at, "frames": count, "phones": spoken.phones, "source": spoken.source})
        at += count
    np.save(folder / "features.npy", np.concatenate(parts))
    np.save(folder / "global_mean.npy", global_mean)
    (folder / "utterances.json").write_text(json.dumps(listed), "utf-8")
    hours = at / 360_000
    print(f"{len(listed)} utterances, {hours:.1f} h, in {time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
