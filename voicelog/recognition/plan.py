"""A recogniser that isn't made yet: what another process needs to make the very same one."""

from __future__ import annotations

import hashlib
import importlib.metadata
import socket
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Protocol, Self

from voicelog import __version__
from voicelog.errors import ModelDiffers, UsageError
from voicelog.recognition.models import (
    InstalledModel,
    find_embedded_model,
    find_models,
    model_folders,
)
from voicelog.recognition.recogniser import Recogniser


class Plan(Protocol):
    """How a recogniser is made; a value that can be sent to another process or machine."""

    @property
    def model_bytes(self) -> int:
        """What its models take on the disk; 0 where nobody knows."""

    def __hash__(self) -> int:
        """Return the same for equal plans: a process keeps what it made."""

    def build(self) -> Recogniser:
        """Make the recogniser, on whatever machine this is."""

    def check(self) -> None:
        """Make sure, on another machine, that what is made there would hear the same."""

    def for_elsewhere(self) -> Self:
        """Return the plan with what another machine needs to check it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecogniserPlan:
    """How a recogniser is made; can be sent to another process or another machine.

    Attributes:
        make: its class; takes ``options``.
        options: its options; where there is a model, its folder is their ``model_folder``.
        model: the model on this machine, or None where the recogniser finds its own.
        fingerprint: the checksum of all its files; empty where the plan stays on this machine.
        versions: the packages that hearing depends on, each with its version.
    """

    make: Callable[[Any], Recogniser]
    options: Any
    model: InstalledModel | None = None
    fingerprint: str = ""
    versions: tuple[tuple[str, str], ...] = ()

    @property
    def model_bytes(self) -> int:
        """What its model takes on the disk; 0 where nobody knows."""
        return 0 if self.model is None else self.model.size_bytes

    def for_elsewhere(self) -> Self:
        """Return the plan with the checksum of its model.

        Raises:
            UsageError: the recogniser finds its model itself.
        """
        if self.model is None:
            raise UsageError(
                "A plug-in finds its model itself, and nothing could tell whether that on a "
                "cluster is the same; choose another recogniser with --engine."
            )
        return replace(self, fingerprint=fingerprint_model(self.model.folder))

    def check(self) -> None:
        """Make sure, on another machine, that its model is here, and the same versions.

        Raises:
            ModelDiffers: as for :meth:`build`.
        """
        self.find_model()

    def build(self) -> Recogniser:
        """Make the recogniser, on whatever machine this is.

        Raises:
            ModelMissing: the model is not where it should be.
            ModelDamaged: its files are not what they should be.
            ModelDiffers: the plan is from another machine, and what is here would not hear
                the same: another model, or another version of a package.
        """
        if not self.fingerprint:
            return self.make(self.options)
        return self.make(replace(self.options, model_folder=self.find_model()))

    def find_model(self) -> Path:
        """Return where the model is on the machine that the plan came to.

        Raises:
            ModelDiffers: as for :meth:`build`.
        """
        check_versions(self.versions)
        name = "" if self.model is None else self.model.name
        return find_same_model(self.options.model_folder, self.fingerprint, name=name)


def fingerprint_model(folder: Path) -> str:
    """Return one checksum over the names and bytes of all files of a model."""
    total = hashlib.sha256()
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        total.update(f"{digest}  {path.relative_to(folder).as_posix()}\n".encode())
    return total.hexdigest()


def find_same_model(hint: Path, fingerprint: str, *, name: str) -> Path:
    """Return the folder of exactly this model on this machine.

    Args:
        hint: where it is on the machine that asks; looked at first.
        fingerprint: what :func:`fingerprint_model` gave there.
        name: what it is called there.

    Raises:
        ModelDiffers: it isn't here; the sentence says what to do.
    """
    embedded = find_embedded_model()
    here = [*([embedded] if embedded else []), *find_models(model_folders())]
    for folder in dict.fromkeys([hint, *(model.folder for model in here)]):
        if folder.is_dir() and fingerprint_model(folder) == fingerprint:
            return folder
    raise ModelDiffers(
        f"The worker on {socket.gethostname()} has another model than this machine: none there "
        f"has the checksum {fingerprint[:12]} of {name}. Copy the folder {hint} to the same place "
        "there, or stop that worker, then run the same command again."
    )


def list_versions(*packages: str) -> tuple[tuple[str, str], ...]:
    """Return the version of voicelog and of some packages as they are installed here."""
    return (
        ("voicelog", __version__),
        *((package, importlib.metadata.version(package)) for package in packages),
    )


def check_versions(wanted: tuple[tuple[str, str], ...]) -> None:
    """Make sure that packages have the same versions here as elsewhere.

    Raises:
        ModelDiffers: one has not; the sentence names it.
    """
    here = dict(list_versions(*(package for package, _ in wanted if package != "voicelog")))
    for package, version in wanted:
        if here[package] != version:
            raise ModelDiffers(
                f"The worker on {socket.gethostname()} has {package} {here[package]}, this "
                f"machine {version}; install the same version there, or stop that worker, then "
                "run the same command again."
            )
