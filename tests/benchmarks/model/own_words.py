"""Whether a repository's own words are heard with a model that `voicelog models adapt` made.

    python -m tests.benchmarks.model.own_words ADAPTED

ADAPTED was made of vosk-bench with the invented names Quillhaven (quill haven), Tarnfoot (tarn
foot) and Ellerby (eller bee). Two voices that no model was trained on say seven notes, five of them
with a name; each is heard by vosk alone and by both ears, with the shipped model and with ADAPTED.
Prints what was heard, then how many of the names, and how many where none was said.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from models.recipe.voices import TUNING, speak
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Segment
from voicelog.settings import Settings, read_settings
from voicelog.vocabulary import load_vocabulary
from voicelog.wiring.hearing import make_recogniser

NAMES = ("quillhaven", "tarnfoot", "ellerby")
NOTES = (
    "caption reads quillhaven outing nineteen fifty two",
    "a postcard of tarnfoot",
    "the ellerby album",
    "volume one the ellerby album",
    "caption reads the lamplighters at tarnfoot",
    "leaf two a postcard photo corners",
    "leaf four recto a clipping and a ticket",
)


def make_segments() -> list[tuple[str, Segment]]:
    """Return every note in every voice, in a room that is never quite silent."""
    room = np.random.default_rng(20_311)
    segments = []
    for voice in TUNING:
        for note in NOTES:
            said = np.pad(speak(voice, note), 8_000)
            samples = (0.6 * said + room.normal(0, 0.0003, len(said))).astype(np.float32)
            end_s = len(samples) / SAMPLE_RATE_HZ
            segments.append((note, Segment(samples=samples, start_s=0.0, end_s=end_s)))
    return segments


def measure(label: str, settings: Settings, segments: list[tuple[str, Segment]]) -> str:
    """Print what is heard, and return how many of the names."""
    recogniser = make_recogniser(settings, load_vocabulary())
    said = heard = invented = 0
    for note, segment in segments:
        text = recogniser.recognise(segment).text
        print(f"{label}: {note}\n  > {text}")
        for name in NAMES:
            was_said, was_heard = name in note, name in text.lower()
            said += was_said
            heard += was_said and was_heard
            invented += was_heard and not was_said
    return f"{label}: {heard} of {said} names heard, {invented} where none was said"


def main() -> None:
    """Print the figures."""
    adapted = Path(sys.argv[1])
    shipped = read_settings(environment={})
    segments = make_segments()
    results = [
        measure(f"{engine}, {name}", replace(shipped, engine=engine, model_folder=folder), segments)
        for engine in ("vosk", "both")
        for name, folder in (("shipped", None), ("adapted", adapted))
    ]
    print("\n".join(results))


if __name__ == "__main__":
    main()
