"""A model with the repository's own words: from a list of names and from its term files."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from voicelog.adapting.making import Adapted, adapt_model
from voicelog.adapting.own_words import OwnName, OwnWords, parse_names
from voicelog.errors import ModelMissing, UsageError
from voicelog.recognition.models import find_models, model_folders
from voicelog.settings import Settings
from voicelog.vocabulary.loading import read_lists
from voicelog.wiring.hearing import choose_models
from voicelog.wiring.plug_ins import plug_in_term_lists

SHIPPED_MODEL = "vosk-bench"


def make_adapted_model(
    settings: Settings, *, names: Path | None, base: Path | None, out: Path
) -> Adapted:
    """Make a model that knows a repository's names, and the terms of its term files.

    Args:
        settings: which term files there are.
        names: a list of names and words, one in each line, or None.
        base: the model to begin with; None for the one that came with voicelog.
        out: the new model's folder.

    Raises:
        UsageError: there are no words, the list can't be used, or the folder is there already.
        VocabularyError: a term file can't be read.
        RecogniserError: the model to begin with is missing, damaged or of another kind, or the
            new one can't be written.
    """
    lists = (*plug_in_term_lists(), *read_lists(settings.vocabulary_files))
    own = OwnWords(
        names=_read_names(names) if names else {},
        concepts=tuple(concept for each in lists for concept in each.concepts),
    )
    if not own.words():
        raise UsageError(
            "There are no words of your own; name a list of them with --words, or add terms with "
            "'voicelog vocabulary add'."
        )
    return adapt_model(base or _find_shipped(), out, own)


def is_heard_with(folder: Path, settings: Settings) -> bool:
    """Return whether the settings come down to hearing with the model in a folder."""
    try:
        chosen = choose_models(settings)
    except ModelMissing:
        return False
    return any(model.folder.resolve() == folder.resolve() for model in chosen)


def settings_to_hear_with(folder: Path, settings: Settings) -> dict[str, str]:
    """Return which settings must be changed for hearing with the model in a folder, and how."""
    if is_heard_with(folder, settings):
        return {}
    changed = {"model_folder": str(folder.resolve())}
    named = replace(settings, model_folder=folder.resolve())
    return changed if is_heard_with(folder, named) else {**changed, "engine": "both"}


def _find_shipped() -> Path:
    for model in find_models(model_folders()):
        if model.name == SHIPPED_MODEL:
            return model.folder
    raise ModelMissing(
        f"The model {SHIPPED_MODEL} did not come along; install voicelog again, or name the model "
        "to begin with by --model."
    )


def _read_names(path: Path) -> dict[str, OwnName]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as failure:
        reason = failure.strerror if isinstance(failure, OSError) else "it is not text in UTF-8"
        raise UsageError(
            f"{path} can't be read ({reason}); name a text file with one word or name in each line."
        ) from failure
    return parse_names(text, origin=path.name)
