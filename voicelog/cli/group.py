"""A command group that loads a command only when it is run, so that help comes at once."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from typing import Any, NamedTuple

import click


class CommandEntry(NamedTuple):
    """A command as the overview lists it; its module has the same name as the command."""

    name: str
    summary: str


class LazyGroup(click.Group):
    """Lists its commands from a table and imports the one that is asked for."""

    def __init__(
        self,
        name: str | None = None,
        commands: tuple[CommandEntry, ...] = (),
        *,
        callback: Callable[..., Any] | None = None,
        **settings: Any,
    ) -> None:
        super().__init__(name, callback=callback, **settings)
        self._entries = {entry.name: entry for entry in commands}

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Return the names in the order of the table, which is the order of the work."""
        return list(self._entries)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import the command's module and return the command in it."""
        if cmd_name not in self._entries:
            return None
        module = importlib.import_module(f"voicelog.cli.{cmd_name}")
        command: click.Command = getattr(module, cmd_name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the overview without importing any command."""
        with formatter.section("Commands"):
            formatter.write_dl([(entry.name, entry.summary) for entry in self._entries.values()])
