"""Help comes at once, and says what the commands say themselves."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import click
import pytest

from tests.cli.conftest import Voicelog
from voicelog.cli import COMMANDS, cli

ROOT = Path(__file__).parents[2]
HEAVY = ("av", "faster_whisper", "numpy", "pydantic", "rich", "spacy", "sqlite_utils", "vosk")


def test_help_loads_nothing_heavy() -> None:
    """Whoever asks for help shouldn't wait for a recogniser."""
    program = (
        "import sys\nfrom voicelog.cli import run\nrun(['--help'])\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules])\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True, cwd=ROOT
    )
    assert ended.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("entry", COMMANDS, ids=lambda entry: entry.name)
def test_every_command_explains_itself_as_the_overview_does(entry: tuple[str, str]) -> None:
    """The overview is a table beside the commands; it must not drift from them."""
    name, summary = entry
    command = cli.get_command(click.Context(cli), name)
    assert command is not None
    first_line = (command.help or "").splitlines()[0]
    assert first_line.rstrip(".") == summary.rstrip(".")


def test_wrong_usage_ends_with_2(voicelog: Voicelog) -> None:
    """Unknown commands, options and formats are wrong usage."""
    for arguments in (("sing",), ("show", "--loud"), ("export", "xls", "--out", "x"), ("parse",)):
        result = voicelog(*arguments)
        assert result.status == 2, arguments
        assert result.out == ""
        assert "Error" in result.err


def test_version_and_help_end_with_0(voicelog: Voicelog) -> None:
    """Both answer on standard output."""
    assert voicelog("--version").out.startswith("voicelog ")
    assert voicelog("--help").status == 0
    assert "parse" in voicelog().err + voicelog("--help").out
