"""A model folder with a repository's own words, made from one that has none of them."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from voicelog.adapting.automata import read_automaton
from voicelog.adapting.grammar import read_grammar
from voicelog.adapting.language_model import END, Counts, LanguageModel, take_in
from voicelog.adapting.lexicon import UNKNOWN, Lexicon
from voicelog.adapting.own_words import (
    OwnWords,
    find_guessed,
    iter_own_notes,
    make_own_lexicon,
)
from voicelog.adapting.phones import phone_lines
from voicelog.adapting.search_graph import (
    GRAMMAR,
    MARKS,
    SOUNDS,
    WORDS,
    read_lexicon,
    read_words,
    write_graph,
)
from voicelog.errors import ModelMissing, ModelUnfit, RecogniserError, UsageError
from voicelog.recognition.models.vosk_files import (
    ACOUSTIC_MODEL,
    CHECKSUMS,
    OWN_WORDS,
    check_vosk_files,
    read_own_words,
    write_checksums,
)

NOTES = 200_000
"""How many notes the shipped model was counted from, and a name's own stand among."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapted:
    """What became of a model.

    Attributes:
        folder: the new model's folder.
        new_words: the words that the model before did not know.
        guessed: those of them whose sounds were guessed from their spelling.
        known_words: how many words the new one knows.
    """

    folder: Path
    new_words: tuple[str, ...]
    guessed: tuple[str, ...]
    known_words: int


def adapt_model(base: Path, out: Path, own: OwnWords) -> Adapted:
    """Make a model that knows a repository's words beside those that it knew.

    Its acoustic part is copied; nothing is trained. The folder is there when all of it is, and
    was loaded once.

    Args:
        base: the model to begin with: vosk-bench, or what was made of it.
        out: the new folder.
        own: the repository's words.

    Raises:
        UsageError: the new folder is there already or within the base, or nobody knows how a word
            is said.
        ModelMissing: the base is no model.
        ModelDamaged: its files are not what they should be.
        ModelUnfit: it is not of the kind that can be adapted.
        RecogniserError: the new folder can't be written.
    """
    if out.exists():
        raise UsageError(f"{out} is already there; name a new folder, or remove that one first.")
    if not (base / ACOUSTIC_MODEL).is_file():
        raise ModelMissing(
            f"There is no vosk model at {base}; name a folder that holds {ACOUSTIC_MODEL}."
        )
    if base.resolve() in out.resolve().parents:
        raise UsageError(f"{out} lies in the model that it is made of; name a folder elsewhere.")
    check_vosk_files(base)
    known, model = _read_language_part(base)
    own_lexicon = make_own_lexicon(own, known)
    new_words = tuple(sorted(own_lexicon.keys() - known.keys()))
    lexicon = {**known, **own_lexicon}
    counts = Counts()
    for note, weight in iter_own_notes(own):
        counts.add([word if word in lexicon else UNKNOWN for word in note], weight)
    mixed = take_in(model, counts, sentences=NOTES)
    unfinished = out.with_name(f".{out.name}.unfinished")
    try:
        shutil.rmtree(unfinished, ignore_errors=True)
        left_out = shutil.ignore_patterns(CHECKSUMS, SOUNDS, GRAMMAR, MARKS, WORDS)
        shutil.copytree(base, unfinished, ignore=left_out)
        write_graph(unfinished, lexicon, mixed)
        written = (*read_own_words(base), *own.written(new_words))
        names = "".join(f"{name}\n" for name in dict.fromkeys(written))
        (unfinished / OWN_WORDS).write_text(names, encoding="utf-8")
        # Without checksums, this loads it in a process of its own.
        check_vosk_files(unfinished)
        write_checksums(unfinished)
        unfinished.rename(out)
    except OSError as failure:
        raise RecogniserError(
            f"The model could not be written to {out} ({failure.strerror or failure}); make room "
            "there, or name another folder."
        ) from failure
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    return Adapted(
        folder=out,
        new_words=new_words,
        guessed=find_guessed(own, new_words),
        known_words=len(lexicon),
    )


def _read_language_part(folder: Path) -> tuple[Lexicon, LanguageModel]:
    try:
        return _parse_language_part(folder / "graph")
    except (OSError, ValueError) as failure:
        raise ModelUnfit(
            f"The model at {folder} can't be given words of your own ({failure}); begin with "
            "vosk-bench, which comes with voicelog, or with a model made of it."
        ) from failure


def _parse_language_part(graph: Path) -> tuple[Lexicon, LanguageModel]:
    if (graph / "phones.txt").read_text(encoding="utf-8") != phone_lines():
        raise ValueError("it has other phones")
    lexicon = read_lexicon(graph)
    model = read_grammar(read_automaton(graph / GRAMMAR), read_words(graph))
    if model.probabilities[()].keys() - {END} != {*lexicon, UNKNOWN}:
        raise ValueError("its language model is of other words than its sounds")
    return lexicon, model
