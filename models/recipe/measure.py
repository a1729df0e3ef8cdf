"""How well a model hears: words of the vocabulary, people's digits, unknown words, speed.

    python -m models.recipe.measure MODEL SPEECH [--part "held out"] [--notes 60]

SPEECH as for ``models.recipe.people``. The synthetic voices of the part each say the same
notes, drawn by a fixed seed from the gold sessions (tests/gold: the tuning ones, or those
held back), which were written by others and are in no training text; notes with digits are
left out, since one number has many spellings. People of the part are the speakers of AN4
kept for it, with their random strings (``an`` recordings) of letters and numbers, and those
of digits alone once more. Behind every rate stands its 95 % interval (Wilson's).
"""

from __future__ import annotations

import argparse
import json
import re
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from models.recipe.lexicon import bench_words, frequent_words
from models.recipe.people import Part, iter_an4
from models.recipe.voices import HELD_OUT, TUNING, Voice, speak
from voicelog.adapting.lexicon import UNKNOWN, words_in
from voicelog.domain.error_rate import wilson_interval
from voicelog.vocabulary.inflection import in_british

_SEED = 20_311
_DIGITS = set("zero oh o one two three four five six seven eight nine".split())
_GOLD = Path(__file__).parents[2] / "tests" / "gold"


def rate(count: int, of: int) -> str:
    """Return a share with its counts and interval: "3 of 50, 6.0 % (2.1-16.2)"."""
    low, high = wilson_interval(count, of)
    return f"{count} of {of}, {count / max(of, 1):.1%} ({100 * low:.1f}-{100 * high:.1f})"


@cache
def _one_spelling(word: str) -> str:
    return in_british(word)


@dataclass(kw_only=True)
class Tally:
    """Errors against words said; words of the vocabulary by themselves."""

    said: int = 0
    wrong: int = 0
    trade_said: int = 0
    trade_wrong: int = 0
    exact: int = 0
    utterances: int = 0
    examples: list[tuple[str, str]] = field(default_factory=list)
    pairs: list[tuple[list[str], list[str]]] = field(default_factory=list)

    def add(self, said: Sequence[str], heard: Sequence[str], trade: set[str]) -> None:
        """Count one utterance."""
        import jiwer  # noqa: PLC0415

        said = [_one_spelling(word) for word in said]
        heard = [_one_spelling(word) for word in heard]
        found = jiwer.process_words(" ".join(said), " ".join(heard))
        self.said += len(said)
        self.wrong += found.substitutions + found.deletions + found.insertions
        self.utterances += 1
        self.pairs.append((said, heard))
        self.exact += list(said) == list(heard)
        if list(said) != list(heard):
            self.examples.append((" ".join(said), " ".join(heard)))
        for chunk in found.alignments[0]:
            words = said[chunk.ref_start_idx : chunk.ref_end_idx]
            of_trade = sum(word in trade for word in words)
            self.trade_said += of_trade
            self.trade_wrong += of_trade if chunk.type != "equal" else 0


class Ear:
    """The model, listening to whole utterances."""

    def __init__(self, folder: Path) -> None:
        import vosk  # noqa: PLC0415

        vosk.SetLogLevel(-1)
        self._vosk = vosk
        self._model = vosk.Model(str(folder))
        self.heard_s = self.took_s = 0.0

    def hear(self, sound: Any, words: list[str] | None = None) -> list[str]:
        """Return the words of an utterance, perhaps only these."""
        began = time.process_time()
        recogniser = (
            self._vosk.KaldiRecognizer(self._model, 16_000, json.dumps(words))
            if words
            else self._vosk.KaldiRecognizer(self._model, 16_000)
        )
        # No microphone is ever quite silent.
        room = np.random.default_rng(_SEED).normal(0, 0.0005, len(sound) + 9_600)
        room[4_800:-4_800] += sound
        data = (np.clip(room, -1, 1) * 20_000).astype(np.int16).tobytes()
        parts = []
        for start in range(0, len(data), 6_400):
            if recogniser.AcceptWaveform(data[start : start + 6_400]):
                parts.append(json.loads(recogniser.Result())["text"])
        parts.append(json.loads(recogniser.FinalResult())["text"])
        self.took_s += time.process_time() - began
        self.heard_s += len(sound) / 16_000
        return " ".join(parts).split()


def measure_voice(ear: Ear, voice: Voice, notes: Sequence[str], trade: set[str]) -> Tally:
    """Return how a voice's notes are heard."""
    tally = Tally()
    for note in notes:
        tally.add(note.split(), ear.hear(speak(voice, note)), trade)
    return tally


def measure_people(ear: Ear, speech: Path, part: Part, trade: set[str]) -> Tally:
    """Return how AN4's random strings are heard, without any grammar."""
    tally = Tally()
    for recording in iter_an4(speech / "an4"):
        is_random = recording.path.stem.startswith("an")
        said = recording.text.split()
        if recording.part is part and is_random and all(word in trade for word in said):
            sound, _ = soundfile.read(recording.path)
            tally.add(said, ear.hear(sound), trade)
    return tally


def only_digits(tally: Tally) -> Tally:
    """Return the utterances of a tally that are strings of single digits."""
    chosen = Tally()
    for said, heard in tally.pairs:
        if set(said) <= _DIGITS:
            chosen.add(said, heard, _DIGITS)
    return chosen


def measure_unknown(ear: Ear, voices: Sequence[Voice], known: set[str], count: int) -> str:
    """Return how often words outside the lexicon are refused, and known ones too.

    A word is refused if nothing was heard of it but ``[unk]``.
    """
    strangers = [word for word in frequent_words(30_000)[13_000:] if word not in known]
    draw = np.random.default_rng(_SEED)
    trade = sorted(word for word in bench_words() if len(word) > 4)
    figures = {}
    for name, words in (("unknown", strangers), ("known", trade)):
        chosen = [str(word) for word in draw.choice(words, count, replace=False)]
        refused = sum(
            set(ear.hear(speak(voice, word))) <= {UNKNOWN} for voice in voices for word in chosen
        )
        figures[name] = f"{name} words refused: {rate(refused, count * len(voices))}"
    return "; ".join(figures.values())


def read_gold_notes(part: Part, count: int) -> list[str]:
    """Return notes of the gold sessions in the model's spelling, without digits."""
    folder = _GOLD / ("held_back" if part is Part.HELD_OUT else "tuning")
    lines = [
        line[2:]
        for path in sorted(folder.glob("*.gold"))
        for line in path.read_text("utf-8").splitlines()
        if line.startswith("> ") and not re.search(r"\d", line)
    ]
    notes = sorted({" ".join(words_in(line)) for line in lines} - {""})
    chosen = np.random.default_rng(_SEED).choice(notes, min(count, len(notes)), replace=False)
    return [str(note) for note in chosen]


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("model", type=Path)
    parser.add_argument("speech", type=Path)
    parser.add_argument("--part", type=Part, default=Part.HELD_OUT)
    parser.add_argument("--notes", type=int, default=60)
    parser.add_argument("--show", type=int, default=0)
    wanted = parser.parse_args()
    ear = Ear(wanted.model)
    trade = bench_words()
    known = {
        line.split()[0] for line in (wanted.model / "graph/words.txt").read_text().splitlines()
    }
    notes = read_gold_notes(wanted.part, wanted.notes)
    outside = sorted({word for note in notes for word in note.split()} - known)
    print(f"{len(notes)} notes; words the model does not know: {', '.join(outside)}")
    voices = HELD_OUT if wanted.part is Part.HELD_OUT else TUNING
    tallies = {voice.name: measure_voice(ear, voice, notes, trade) for voice in voices}
    people = measure_people(ear, wanted.speech, wanted.part, trade)
    tallies["people, random strings of AN4"] = people
    tallies["of these, digits alone"] = only_digits(people)
    for name, tally in tallies.items():
        print(
            f"{name}: words wrong {rate(tally.wrong, tally.said)}, "
            f"of the vocabulary {rate(tally.trade_wrong, tally.trade_said)}, "
            f"{tally.exact} of {tally.utterances} exact"
        )
        for said, heard in tally.examples[: wanted.show]:
            print(f"    {said}\n  > {heard}")
    print(measure_unknown(ear, voices, known, wanted.notes))
    print(f"{ear.heard_s / 60:.1f} min heard at {ear.took_s / ear.heard_s:.3f} of real time")


if __name__ == "__main__":
    main()
