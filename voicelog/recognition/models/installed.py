"""Which models are on this machine. Looks at folders only; never at the network."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from voicelog.recognition.models.published import load_published
from voicelog.recognition.models.vosk_files import ACOUSTIC_MODEL
from voicelog.recognition.models.whisper_files import WEIGHTS, find_embedded_whisper

_PACKAGE = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class InstalledModel:
    """A model found on this machine; its files have not been checked.

    Attributes:
        name: the name of its folder; "tiny.en" for the embedded one.
        engine: "vosk" or "whisper".
        folder: where it is.
        size_bytes: what its files take on the disk.
        full_size: whether it is a large published vosk model.
    """

    name: str
    engine: str
    folder: Path
    size_bytes: int
    full_size: bool = False


def model_folders(
    configured: Path | None = None, *, environment: Mapping[str, str] | None = None
) -> tuple[Path, ...]:
    """Return the folders to search, in order; some may not exist.

    The configured folder comes first, then voicelog's own models (of the checkout, or of
    the installed package), then the places where vosk itself looks: ``VOSK_MODEL_PATH``,
    ``/usr/share/vosk``, ``~/AppData/Local/vosk``, ``~/.cache/vosk`` (vosk 0.3.45,
    MODEL_DIRS).
    """
    environment = os.environ if environment is None else environment
    own = [_PACKAGE.parent / "models", _PACKAGE / "_models"]
    named = environment.get("VOSK_MODEL_PATH", "").strip()
    home = Path.home()
    candidates = [
        *([configured] if configured else []),
        # A checkout is told from an installed package, beside which any other
        # "models" folder may lie, by the project file next to it.
        *(own if (_PACKAGE.parent / "pyproject.toml").is_file() else own[1:]),
        *([Path(named)] if named else []),
        Path("/usr/share/vosk"),
        home / "AppData/Local/vosk",
        home / ".cache/vosk",
    ]
    return tuple(dict.fromkeys(candidates))


def find_models(folders: Iterable[Path]) -> tuple[InstalledModel, ...]:
    """Return the models in these folders, in the order of the folders, then by name.

    A folder may hold models or be one itself. A folder that is missing or can't be read
    holds none. Of several models with one name the first counts.
    """
    found: dict[tuple[str, str], InstalledModel] = {}
    for folder in folders:
        for candidate in (folder, *_children(folder)):
            model = _look_at(candidate)
            if model is not None:
                found.setdefault((model.engine, model.name), model)
    return tuple(found.values())


def find_embedded_model() -> InstalledModel | None:
    """Return the Whisper model that came with voicelog, or None if it is not installed."""
    folder = find_embedded_whisper()
    if folder is None or not (folder / WEIGHTS).is_file():
        return None
    return InstalledModel(
        name="tiny.en", engine="whisper", folder=folder, size_bytes=_size_bytes(folder)
    )


def _children(folder: Path) -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except OSError:
        return []


def _look_at(folder: Path) -> InstalledModel | None:
    try:
        is_vosk = (folder / ACOUSTIC_MODEL).is_file()
        is_whisper = (folder / WEIGHTS).is_file() and (folder / "config.json").is_file()
    except OSError:
        return None
    if not is_vosk and not is_whisper:
        return None
    name = folder.resolve().name
    return InstalledModel(
        name=name,
        engine="vosk" if is_vosk else "whisper",
        folder=folder,
        size_bytes=_size_bytes(folder),
        full_size=any(model.full_size and model.name == name for model in load_published()),
    )


def _size_bytes(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
