"""voicelog redact: shown first, then taken out, with a reason and a name."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Voicelog

NOTES = (
    b"accession 2031-007\nleaf one\na letter, caption reads dear Wilhelmina\n"
    b"remark, Wilhelmina was ill\n"
)


@pytest.fixture
def log(voicelog: Voicelog, tmp_path: Path) -> Path:
    folder = tmp_path / "log"
    assert voicelog("parse", "-", "--log", folder, stdin=NOTES).status == 0
    return folder


def test_without_yes_the_places_are_shown_and_nothing_changes(
    voicelog: Voicelog, log: Path
) -> None:
    """A reader sees which note it is, and what stands around."""
    result = voicelog("redact", "wilhelmina", "--log", log)
    assert result.status == 0
    assert "a letter, caption reads dear Wilhelmina" in result.out
    assert "2 places; nothing was changed. To take them out for good, add --yes." in result.err
    assert b"Wilhelmina" in (log / "log.sqlite").read_bytes()


def test_with_yes_the_words_are_gone_from_the_file(voicelog: Voicelog, log: Path) -> None:
    """Read from standard input, so that no shell remembers them."""
    result = voicelog(
        "redact", "-", "--log", log, "--yes", "--by", "Ida Marsh", "--reason", "alive",
        stdin=b"Wilhelmina\n",
    )  # fmt: skip
    assert (result.status, result.out) == (0, "")
    assert "2 places; taken out for good." in result.err
    assert b"ilhelmina" not in (log / "log.sqlite").read_bytes()
    shown = voicelog("show", "--json", "--log", log).out
    assert '"caption": "dear ██████████"' in shown


def test_one_note_can_be_named(voicelog: Voicelog, log: Path) -> None:
    """And what is left is told."""
    result = voicelog(
        "redact", "Wilhelmina", "--log", log, "--note", 4, "--yes", "--by", "Ida", "--reason", "x"
    )
    assert "Words like these stand in note 3 too; look there." in result.err
    assert "dear Wilhelmina" in voicelog("notes", "--json", "--log", log).out


@pytest.mark.parametrize(
    ("given", "status", "says"),
    [
        (("somebody",), 1, "These words stand in no note of the log"),
        (("Wilhelmina", "--yes", "--reason", "x"), 2, "Say who orders it"),
        (("Wilhelmina", "--yes", "--by", "Ida"), 2, "Say why the words have to go"),
    ],
)
def test_what_is_missing_is_said(
    voicelog: Voicelog, log: Path, given: tuple[str, ...], status: int, says: str
) -> None:
    """One sentence, and nothing changed."""
    result = voicelog("redact", *given, "--log", log)
    assert result.status == status
    assert says in result.err
    assert b"Wilhelmina" in (log / "log.sqlite").read_bytes()
