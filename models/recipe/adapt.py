"""A model with a repository's own words: only the language part is made anew.

    python -m models.recipe.adapt MODEL OUT [--words FILE] [--vocabulary PATH...]

MODEL is a folder that ``models.recipe.build`` made, such as models/vosk-bench; OUT becomes
one that the setting ``model_folder`` can name. Nothing is trained, and it takes about a minute.

FILE has a word or a name of several words in each line, with how it is said behind an equals
sign where English spelling doesn't tell: ``Quillhaven = quill haven``. PATHs are term files as
in the setting ``vocabulary_files``; every term in them is known, and occurs in notes like the
terms that come with voicelog.
"""

from __future__ import annotations

import argparse
import shutil
from collections.abc import Iterable, Iterator
from itertools import product
from pathlib import Path

from models.recipe.lexicon import Lexicon, make_lexicon, words_in
from models.recipe.notes import NoteWriter
from voicelog.vocabulary import load_vocabulary

NOTES_A_NAME = 150
"""How often each of the repository's own names is heard of, among 200,000 notes."""

_SEED = 78


def read_names(text: str) -> dict[str, str]:
    """Return names to how they are said, both in words of the model's spelling.

    Raises:
        ValueError: a line has no word in it, or more words before the equals sign than can be
            told apart behind it.

    >>> read_names("Quillhaven = quill haven")
    {'quillhaven': 'quill haven'}
    """
    names = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line.startswith("#"):
            continue
        name, _, said = (" ".join(words_in(part)) for part in line.partition("="))
        if not name:
            raise ValueError(f"line {number} has no word in it: {line.strip()!r}.")
        if said and " " in name:
            raise ValueError(
                f"line {number} says how {name!r} is said; give each of its words a line."
            )
        names[name] = said or name
    return names


def own_lexicon(names: dict[str, str]) -> Lexicon:
    """Return the pronunciations of names: the dictionary's, or those of what they sound like."""
    parts = make_lexicon(word for said in names.values() for word in said.split())
    lexicon: Lexicon = {}
    for name, said in names.items():
        if " " in name:
            lexicon |= {word: parts[word] for word in name.split()}
            continue
        ways = product(*(parts[word] for word in said.split()))
        lexicon[name] = tuple(tuple(phone for word in way for phone in word) for way in ways)[:3]
    return lexicon


def iter_own_notes(names: Iterable[str]) -> Iterator[str]:
    """Yield notes in which the names occur."""
    writer = NoteWriter(_SEED)
    for name in names:
        for _ in range(NOTES_A_NAME):
            yield writer.expand("{own_note}").replace(writer.OWN, name)


def main() -> None:
    """Copy the acoustic part and make the rest."""
    parser = argparse.ArgumentParser()
    parser.add_argument("model", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--words", type=Path)
    parser.add_argument("--vocabulary", type=Path, nargs="*", default=())
    wanted = parser.parse_args()
    # pynini behind it must not meet vosk in one process: whoever reads names only is spared it.
    from models.recipe.build import write_language_part  # noqa: PLC0415

    names = read_names(wanted.words.read_text("utf-8")) if wanted.words else {}
    shutil.copytree(wanted.model, wanted.out, ignore=shutil.ignore_patterns("SHA256SUMS"))
    made = write_language_part(
        wanted.out,
        vocabulary=load_vocabulary(*wanted.vocabulary),
        own=own_lexicon(names),
        own_notes=list(iter_own_notes(names)),
    )
    print(made)


if __name__ == "__main__":
    main()
