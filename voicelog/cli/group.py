"""A command group that loads a command only when it is run, so that help comes at once."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable
from typing import Any, NamedTuple

import click


class CommandEntry(NamedTuple):
    """A command as the overview lists it; its module has the same name, "_" for "-"."""

    name: str
    summary: str


class PipeClosed(Exception):
    """Whoever read our output went away."""


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
        name = cmd_name.replace("-", "_")
        module = importlib.import_module(f"voicelog.cli.{name}")
        command: click.Command = getattr(module, name)
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; click itself would end with status 1 when a pipe is closed."""
        try:
            result = super().invoke(ctx)
            sys.stdout.flush()
        except BrokenPipeError as closed:
            raise PipeClosed from closed
        return result

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the overview without importing any command."""
        with formatter.section("Commands"):
            formatter.write_dl([(entry.name, entry.summary) for entry in self._entries.values()])
