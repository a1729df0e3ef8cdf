"""What the voices say: the texts of the training speech, one JSON object a line.

    python -m models.recipe.utterances OUT.jsonl COUNT

Notes; single words and short strings from all over the lexicon, so that every word is
heard; sentences of general English; digits, letters, numbers and years, as accession
numbers are made of. Each line has the text, the pronunciations of its words and the voice
that says it.
"""

from __future__ import annotations

import json
import random
import sys
from collections.abc import Iterator
from pathlib import Path

from models.recipe.general import iter_sentences
from models.recipe.lexicon import bench_words, frequent_words, make_lexicon
from models.recipe.notes import NoteWriter
from models.recipe.voices import TRAINING, Voice
from voicelog.adapting.lexicon import Lexicon, words_in

FREQUENT = 30_000
"""Words that may occur in the speech; more than the model knows, for the phones' sake."""

_LONGEST_WORDS = 16


def iter_texts(lexicon: Lexicon, *, seed: int) -> Iterator[str]:
    """Yield texts without end, all of whose words are in the lexicon."""
    draw = random.Random(seed)
    writer = NoteWriter(seed)
    notes = writer.iter_notes(10**9)
    bench = sorted(bench_words() & set(lexicon))
    anything = sorted(lexicon)
    general = [
        words for sentence in iter_sentences() if 3 <= len(words := words_in(sentence)) <= 14
    ]
    while True:
        kind = draw.random()
        if kind < 0.42:
            text = next(notes)
        elif kind < 0.55:
            text = " ".join(draw.choices(bench, k=draw.randint(1, 5)))
        elif kind < 0.67:
            text = " ".join(draw.choices(anything, k=draw.randint(1, 5)))
        elif kind < 0.87:
            text = " ".join(draw.choice(general))
        else:
            text = draw.choice(
                [
                    writer.digits(draw.randint(3, 7)),
                    writer.letters(draw.randint(3, 7)),
                    f"{writer.letters(2)} {writer.digits(4)}",
                    f"{writer.number()} {writer.number()} {writer.number()}",
                    writer.date(),
                    writer.year(),
                ]
            )
        words = words_in(text)[:_LONGEST_WORDS]
        if words and all(word in lexicon for word in words):
            yield " ".join(words)


def choose_voice(draw: random.Random) -> Voice:
    """Return a voice for the next text, the better ones more often."""
    return draw.choices(TRAINING, [voice.share for voice in TRAINING])[0]


def main() -> None:
    """Write as many lines as the second argument says."""
    target, count = Path(sys.argv[1]), int(sys.argv[2])
    lexicon = make_lexicon([*bench_words(), *frequent_words(FREQUENT)])
    draw = random.Random(11)
    texts = iter_texts(lexicon, seed=12)
    with target.open("w", encoding="utf-8") as stream:
        for _ in range(count):
            text = next(texts)
            phones = [lexicon[word] for word in text.split()]
            line = {"text": text, "phones": phones, "voice": choose_voice(draw).name}
            stream.write(json.dumps(line) + "\n")


if __name__ == "__main__":
    main()
