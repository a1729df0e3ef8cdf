"""The README keeps up with the program."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from voicelog import __version__
from voicelog.checks.closing import rules
from voicelog.checks.rules import Rule
from voicelog.cli import COMMANDS
from voicelog.domain.entry import RECORD_FIELDS
from voicelog.settings import setting_names

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", [entry.name for entry in COMMANDS])
def test_every_command_is_explained(name: str) -> None:
    """In the table of commands."""
    assert re.search(rf"^\| `voicelog {name}\b", README, re.MULTILINE)


@pytest.mark.parametrize("name", setting_names())
def test_every_setting_is_explained_with_its_default(name: str) -> None:
    """In the table of settings; the default is the one that is shipped."""
    found = re.search(rf"^\| `{name}` \| (.*?) \|", README, re.MULTILINE)
    assert found
    shipped = tomllib.loads((ROOT / "voicelog" / "default_settings.toml").read_text())[name]
    default = {"": "empty", "[]": "none", "False": "false", "True": "true"}.get(
        str(shipped), str(shipped)
    )
    assert found[1].strip("`") == default


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.code)
def test_every_finding_is_explained_with_its_severity(rule: Rule) -> None:
    """In the table of findings, and nothing stands there that no check finds."""
    assert re.search(rf"^\| `{rule.code}` \| {rule.severity} \|", README, re.MULTILINE)
    listed = re.findall(r"^\| `([a-z-]+)` \| (?:error|warning|notice) \|", README, re.MULTILINE)
    assert sorted(listed) == sorted(one.code for one in rules())


@pytest.mark.parametrize("name", [*RECORD_FIELDS, "sources"])
def test_every_field_of_the_record_is_explained(name: str) -> None:
    """In the table of the record, or in the sentence after it."""
    assert f"`{name}`" in README


def test_the_two_commands_are_single_lines_to_paste() -> None:
    """One shows the demo, one runs the tests; both begin with a fresh environment."""
    demo, tests = re.findall(r"^    (python3 -m venv .*)$", README, re.MULTILINE)
    assert demo.endswith("voicelog demo")
    assert tests.endswith("pytest")
    assert "[test]" in tests


def test_the_drawing_of_the_house_is_the_contract() -> None:
    """DEVELOPERS.md draws the layers that import-linter enforces, in its order."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    drawing = text.split("## The house")[1].split("```")[1]
    drawn = [
        set(re.findall(r"(?:^|\s{2,})(\w+)(?:/|\.py)(?=\s)", line))
        for line in drawing.splitlines()[2:]
    ]
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = project["tool"]["importlinter"]["contracts"][0]["layers"]
    assert [names for names in drawn if names] == [set(layer.split(" | ")) for layer in layers]


def test_no_line_of_documentation_points_nowhere() -> None:
    """Every file that the documents name is there."""
    named = re.compile(r"(?<![\w/])(?:[A-Z]+\.md|(?:voicelog|tests|demo_data)/[\w/.]+)")
    for document in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / document).read_text(encoding="utf-8")
        for name in named.findall(text):
            assert (ROOT / name).exists(), f"{document} names {name}"


def test_the_changelog_has_a_place_for_what_comes() -> None:
    """Keep a Changelog: there is always an Unreleased section, or this version's."""
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert "## [Unreleased]" in text or f"## [{__version__}]" in text
