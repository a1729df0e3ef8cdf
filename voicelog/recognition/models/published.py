"""The models that can be fetched: a short table, kept as data."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedModel:
    """A model that the vosk project offers for download.

    Attributes:
        name: the name of its archive and of the folder inside.
        download_mb: size of the archive in megabytes, rounded.
        full_size: whether it is one of the large, most accurate models.
        licence: SPDX identifier.
        description: what it is good for, in a few words.
    """

    name: str
    download_mb: int
    full_size: bool
    licence: str
    description: str


def load_published() -> tuple[PublishedModel, ...]:
    """Return the table of models that can be fetched."""
    table = files(__package__).joinpath("published.toml").read_text(encoding="utf-8")
    return tuple(PublishedModel(**row) for row in tomllib.loads(table)["model"])
