"""From trained weights to a model folder that vosk loads.

    python -m models.recipe.build WEIGHTS.npz OUT

WEIGHTS.npz is what ``models.recipe.training`` wrote; its WEIGHTS.pairs.npz lies beside it.
A repository's own words come into the finished model by ``voicelog models adapt``.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from models.recipe.general import iter_sentences
from models.recipe.kaldi_files import write_model, write_settings
from models.recipe.lexicon import FREQUENT_WORDS, bench_words, frequent_words, make_lexicon
from models.recipe.notes import NoteWriter
from voicelog.adapting.language_model import Counts, LanguageModel, estimate
from voicelog.adapting.lexicon import UNKNOWN, Lexicon, words_in
from voicelog.adapting.making import NOTES
from voicelog.adapting.search_graph import write_graph

GENERAL_WEIGHT = 0.15
"""How much a sentence of general English counts against a note."""

_SEED = 77


def make_language_model(
    lexicon: Lexicon, notes: Iterable[str], general: Iterable[str]
) -> LanguageModel:
    """Return a model of notes with some general English in it."""
    counts = Counts()
    for weight, sentences in ((1.0, notes), (GENERAL_WEIGHT, general)):
        for sentence in sentences:
            words = [word if word in lexicon else UNKNOWN for word in words_in(sentence)]
            if words:
                counts.add(words, weight)
    return estimate(counts, [*lexicon, UNKNOWN])


def write_language_part(folder: Path) -> str:
    """Write which words a model knows, how they sound, and which follow which.

    Args:
        folder: the model folder; its ``graph`` is written anew.

    Returns:
        how many words and histories there are, for a person.
    """
    writer = NoteWriter(_SEED)
    lexicon = make_lexicon([*bench_words(), *writer.words(), *frequent_words(FREQUENT_WORDS)])
    model = make_language_model(lexicon, writer.iter_notes(NOTES), iter_sentences())
    write_graph(folder, lexicon, model)
    followers = sum(map(len, model.probabilities.values()))
    return f"{len(lexicon)} words, {len(model.probabilities)} histories, {followers} followers"


def main() -> None:
    """Build the model folder."""
    parser = argparse.ArgumentParser()
    parser.add_argument("weights", type=Path)
    parser.add_argument("out", type=Path)
    wanted = parser.parse_args()
    weights = dict(np.load(wanted.weights))
    weights |= dict(np.load(wanted.weights.with_suffix(".pairs.npz")))
    global_mean = weights.pop("global_mean")
    write_settings(wanted.out, global_mean)
    write_model(wanted.out / "am" / "final.mdl", weights)
    print(write_language_part(wanted.out))


if __name__ == "__main__":
    main()
