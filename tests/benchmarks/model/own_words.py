"""Whether a repository's own words are heard after `models.recipe.adapt`, and not before.

    python -m tests.benchmarks.model.own_words MODEL ADAPTED

ADAPTED was made from MODEL with the invented names Quillhaven (quill haven), Tarnfoot (tarn
foot) and Ellerby (eller bee). The tuning voices say four notes; the last holds none of the
names. Ends with 1 unless every name is heard by the one and none by the other.
"""

from __future__ import annotations

import sys
from pathlib import Path

from models.recipe.measure import Ear
from models.recipe.voices import TUNING, speak

NAMES = ("quillhaven", "tarnfoot", "ellerby")
NOTES = (
    "caption reads quillhaven outing nineteen fifty two",
    "a postcard of tarnfoot",
    "the ellerby album",
    "leaf two a postcard photo corners",
)


def main() -> int:
    """Print what both models hear."""
    before, after = (Ear(Path(argument)) for argument in sys.argv[1:3])
    is_right = True
    for voice in TUNING:
        for note in NOTES:
            sound = speak(voice, note)
            heard, adapted = before.hear(sound), after.hear(sound)
            print(
                f"{voice.name}: {note}\n  before: {' '.join(heard)}\n  after: {' '.join(adapted)}"
            )
            said = [name for name in NAMES if name in note.split()]
            is_right &= not set(NAMES) & set(heard)
            is_right &= [name for name in NAMES if name in adapted] == said
    return int(not is_right)


if __name__ == "__main__":
    sys.exit(main())
