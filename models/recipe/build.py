"""From trained weights to a model folder that vosk loads.

    python -m models.recipe.build WEIGHTS.npz OUT

WEIGHTS.npz is what ``models.recipe.training`` wrote; its WEIGHTS.pairs.npz lies beside it.
``models.recipe.adapt`` makes the language part alone, with a repository's own words.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

from models.recipe.general import iter_sentences
from models.recipe.graph import UnknownWords, phones_that_follow, write_graph
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
from voicelog.vocabulary import Vocabulary

NOTES = 200_000
GENERAL_WEIGHT = 0.15
"""How much a sentence of general English counts against a note."""

UNKNOWN_PENALTY = 1.0
"""What each phone of an unknown word costs: tuned, see models/README.md."""

_SEED = 77
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


def write_language_part(
    folder: Path,
    *,
    vocabulary: Vocabulary | None = None,
    own: Lexicon | None = None,
    own_notes: Sequence[str] = (),
) -> str:
    """Write which words a model knows, how they sound, and which follow which.

    Args:
        folder: the model folder; its ``graph`` is written anew.
        vocabulary: whose terms are known; voicelog's own, if not given.
        own: further words and how they are said.
        own_notes: notes with these words in them.

    Returns:
        how many words and histories there are, for a person.
    """
    writer = NoteWriter(_SEED, vocabulary)
    words = [*bench_words(vocabulary), *writer.words(), *frequent_words(FREQUENT_WORDS)]
    lexicon = make_lexicon(words)
    for word, said in (own or {}).items():
        lexicon[word] = tuple(dict.fromkeys((*said, *lexicon.get(word, ()))))
    notes = [*writer.iter_notes(NOTES), *own_notes]
    model = make_language_model(lexicon, notes, iter_sentences())
    unknown = UnknownWords(follows=phones_that_follow(lexicon), penalty=UNKNOWN_PENALTY)
    write_graph(folder, lexicon, model, unknown)
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
