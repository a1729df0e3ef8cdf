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
from voicelog.cli.group import CommandEntry
from voicelog.cli.notes import format_note_record
from voicelog.cli.reference import format_reference
from voicelog.domain.entry import RECORD_FIELDS
from voicelog.domain.finding import Finding, Severity, format_finding_record
from voicelog.domain.note import Note
from voicelog.domain.record_fields import RECORD
from voicelog.settings import setting_names
from voicelog.store.note_log import NoteState

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
REFERENCE = (ROOT / "voicelog" / "documents" / "REFERENCE.md").read_text(encoding="utf-8")
DOCUMENTS = (
    "README.md",
    "DEVELOPERS.md",
    "demo_data/README.md",
    "demo_data/TUTORIAL.md",
    "voicelog/documents/HANDBOOK.md",
)
NAMED = re.compile(r"(?<![\w/.(\[])(?:[A-Z]+\.md|(?:voicelog|tests|demo_data)/[\w/.]+\w)")
LINK = re.compile(r"\]\((?!https?:)([^)#]*)#?([^)]*)\)")


@pytest.mark.parametrize("entry", COMMANDS, ids=lambda entry: entry.name)
def test_every_command_is_in_the_table(entry: CommandEntry) -> None:
    """README.md lists it as the program does."""
    assert f"| `voicelog {entry.name}` | {entry.summary} |\n" in README


def test_the_reference_is_what_the_program_prints() -> None:
    """To write it anew: voicelog reference > voicelog/documents/REFERENCE.md."""
    assert format_reference() == REFERENCE


@pytest.mark.parametrize("name", setting_names())
def test_every_setting_is_explained_with_its_default(name: str) -> None:
    """Nothing is in the reference without a word on what it does."""
    shipped = tomllib.loads((ROOT / "voicelog" / "default_settings.toml").read_text())[name]
    found = re.search(rf"^\| `{name}` \| `(.*?)` \| (.+) \|$", REFERENCE, re.MULTILINE)
    assert found
    assert tomllib.loads(f"value = {found[1]}")["value"] == shipped
    assert len(found[2]) > 20


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.code)
def test_every_finding_is_explained_with_its_severity(rule: Rule) -> None:
    """And with what to do about it."""
    line = f"| `{rule.code}` | {rule.severity} | {rule.found} | {rule.remedy} |\n"
    assert line in REFERENCE
    assert rule.found


def test_every_field_of_the_record_is_explained() -> None:
    """In the order in which the fields are written."""
    assert tuple(field.name for field in RECORD) == RECORD_FIELDS
    assert all(field.meaning and f"| `{field.name}` | " in REFERENCE for field in RECORD)


def test_every_key_of_the_other_records_is_named() -> None:
    """Those of a note and of a finding."""
    finding = Finding(code="c", severity=Severity.NOTICE, message="m", remedy="r")
    note = NoteState(note=Note(number=1, uid="n", text=""), struck=False, entries=())
    keys = {*format_finding_record(finding, number=None), *format_note_record(note)}
    assert {key for key in keys if f"`{key}`" not in REFERENCE} == set()


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


@pytest.mark.parametrize("document", DOCUMENTS)
def test_no_line_of_documentation_points_nowhere(document: str) -> None:
    """Every file, picture and section that a document names is there."""
    path = ROOT / document
    text = path.read_text(encoding="utf-8")
    for name in NAMED.findall(text):
        assert (ROOT / name).exists(), name
    for target, section in LINK.findall(text):
        linked = path if not target else path.parent / target
        assert linked.exists(), target
        if section:
            heads = re.findall(r"^#+ (.*)$", linked.read_text(encoding="utf-8"), re.MULTILINE)
            assert section in {head.lower().replace(" ", "-") for head in heads}, section


def test_the_changelog_has_a_place_for_what_comes() -> None:
    """Keep a Changelog: there is always an Unreleased section, or this version's."""
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert "## [Unreleased]" in text or f"## [{__version__}]" in text
