"""Plug-ins: what other Python packages add to voicelog, found by their entry points.

A package names in its metadata what it adds (Python Packaging User Guide, "Entry points
specification"). There are four groups, one for each thing that can be added:

    voicelog.vocabulary   a package with term files (.toml) in it
    voicelog.engines      a function that makes a recogniser
    voicelog.exports      a format together with the function that writes it
    voicelog.checks       a check: a family of rules

Nothing is loaded before it is needed. One that can't be loaded, or that is something else
than its group asks for, is named in a warning and left out; whatever else there is works on.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from importlib.metadata import EntryPoint, entry_points
from typing import TypeVar

from voicelog.errors import PlugInBroken, VoicelogError

T = TypeVar("T")

logger = logging.getLogger(__name__)


class Group(StrEnum):
    """What a plug-in can add; the values are the names of the entry point groups."""

    VOCABULARY = "voicelog.vocabulary"
    ENGINES = "voicelog.engines"
    EXPORTS = "voicelog.exports"
    CHECKS = "voicelog.checks"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlugIn:
    """One thing that another package adds.

    Attributes:
        group: what kind of thing.
        name: its name in the group.
        package: the package and its version, as messages name it.
        entry_point: where it is.
    """

    group: Group
    name: str
    package: str
    entry_point: EntryPoint

    def __str__(self) -> str:
        return f"{self.name!r} ({self.group}) of {self.package}"

    def load(self, kind: type[T]) -> T:
        """Return what the plug-in adds.

        Raises:
            PlugInBroken: it can't be loaded, or is something else.
        """
        with self.guarded("can't be loaded"):
            loaded = self.entry_point.load()
        if not isinstance(loaded, kind):
            raise PlugInBroken(
                f"The plug-in {self} is of type {type(loaded).__name__}, not {kind.__name__}; "
                "update or uninstall its package."
            )
        return loaded

    @contextmanager
    def guarded(self, what: str) -> Iterator[None]:
        """Turn whatever fails in foreign code into one sentence.

        Args:
            what: what became of it, as the sentence says it: "can't be loaded".

        Raises:
            PlugInBroken: something was raised that is no error of ours.
        """
        try:
            yield
        except VoicelogError:
            raise
        except Exception as failure:
            raise PlugInBroken(
                f"The plug-in {self} {what} ({type(failure).__name__}: {failure}); "
                "update or uninstall its package."
            ) from failure


def find_plug_ins(group: Group) -> tuple[PlugIn, ...]:
    """Return what is installed of a group, by name; nothing is loaded."""
    found = [
        PlugIn(group=group, name=point.name, package=_name_package(point), entry_point=point)
        for point in entry_points(group=group)
    ]
    return tuple(sorted(found, key=lambda one: (one.name, one.package)))


def find_plug_in(group: Group, name: str) -> PlugIn | None:
    """Return the plug-in of this name, or None."""
    return next((one for one in find_plug_ins(group) if one.name == name), None)


def load_plug_ins(group: Group, kind: type[T]) -> Iterator[tuple[PlugIn, T]]:
    """Yield every plug-in of a group with what it adds; broken ones are told and left out."""
    for plug_in in find_plug_ins(group):
        try:
            loaded = plug_in.load(kind)
        except PlugInBroken as failure:
            leave_out(failure)
        else:
            yield plug_in, loaded


def leave_out(failure: PlugInBroken) -> None:
    """Say why a plug-in is left out."""
    logger.warning("%s", failure)


def _name_package(point: EntryPoint) -> str:
    return f"{point.dist.name} {point.dist.version}" if point.dist else "an unnamed package"
