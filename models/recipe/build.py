"""From trained weights to a model folder that vosk loads.

    python -m models.recipe.build WEIGHTS.npz OUT [--unknown-penalty N]

WEIGHTS.npz is what ``models.recipe.training`` wrote; its WEIGHTS.pairs.npz lies beside it.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from models.recipe.general import iter_sentences
from models.recipe.graph import UnknownWords, phone_frequencies, write_graph
from models.recipe.kaldi_files import write_model, write_settings
from models.recipe.language_model import Counts, LanguageModel
from models.recipe.lexicon import (
    FREQUENT_WORDS,
    UNKNOWN,
    Lexicon,
    bench_words,
    frequent_words,
    make_lexicon,
    words_in,
)
from models.recipe.notes import NoteWriter

NOTES = 400_000
GENERAL_WEIGHT = 0.15
"""How much a sentence of general English counts against a note."""

UNKNOWN_PENALTY = 0.0
_LEAST = {1: 0.4, 2: 2.5}


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
    return LanguageModel(counts, [*lexicon, UNKNOWN], least=_LEAST)


def main() -> None:
    """Build the model folder."""
    parser = argparse.ArgumentParser()
    parser.add_argument("weights", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--unknown-penalty", type=float, default=UNKNOWN_PENALTY)
    wanted = parser.parse_args()
    weights = dict(np.load(wanted.weights))
    weights |= dict(np.load(wanted.weights.with_suffix(".pairs.npz")))
    global_mean = weights.pop("global_mean")
    write_settings(wanted.out, global_mean)
    write_model(wanted.out / "am" / "final.mdl", weights)
    lexicon = make_lexicon([*bench_words(), *frequent_words(FREQUENT_WORDS)])
    model = make_language_model(lexicon, NoteWriter(77).iter_notes(NOTES), iter_sentences())
    unknown = UnknownWords(phones=phone_frequencies(lexicon), penalty=wanted.unknown_penalty)
    write_graph(wanted.out, lexicon, model, unknown)
    histories = len(model.probabilities)
    followers = sum(map(len, model.probabilities.values()))
    print(f"{len(lexicon)} words, {histories} histories, {followers} followers")


if __name__ == "__main__":
    main()
