"""Every command that a document shows is run, or, where it can't be, is one that there is."""

from __future__ import annotations

import shlex
import shutil
from pathlib import Path

import click
import pytest
from PIL import Image

from tests.cli.conftest import Voicelog
from tests.cli.shown import Shown, read_inside, read_shown
from voicelog.cli import cli

ROOT = Path(__file__).parents[2]
TUTORIAL = "demo_data/TUTORIAL.md"
DOCUMENTS = ["README.md", "voicelog/documents/HANDBOOK.md", TUTORIAL]
# These wait for a person, a microphone or the network; they are read, not run. The demo is run
# by whoever checks the installed package.
WAITING = ("demo", "listen", "review", "models fetch", "doctor --microphone")
GREEN_BOOK = """accession 2031-007
volume one, the green book, post binding, black paper, ten by twelve inches, three leaves
front cover, soiled
leaf one, a postcard, photo corners, four by six inches, lifting
came off, goes in envelope seven
verso blank
leaf two, blank both sides
leaf three, a menu, laid in
"""
PICNIC_ALBUM = """accession 2031-007
volume two, the picnic album, spiral binding, self-adhesive pages, clear overlay
leaf one, a snapshot, faded
"""


def _prepare(here: Path, voicelog: Voicelog) -> None:
    """Put there what documents take for granted: two logs, recordings, notes, scans."""
    recording = ROOT / "demo_data" / "recordings" / "4-picnic-album.flac"
    for name in ("morning.flac", "afternoon.flac", "memo.m4a"):
        shutil.copyfile(recording, here / name)
    (here / "notes.txt").write_text("leaf three verso\na ticket\n")
    (here / "names.txt").write_text("Quillhaven = quill haven\nTarn Valley\n")
    for name, typed in (("green-book", GREEN_BOOK), ("picnic-album", PICNIC_ALBUM)):
        voicelog("parse", "-", "--log", name, stdin=typed.encode())
    (here / "backups").mkdir()
    (here / "backlog").mkdir()
    shutil.copyfile(recording, here / "backlog" / "REC1.wav")
    for folder in ("scans", "scans/green-book", "green-book-scans"):
        (here / folder).mkdir()
        for number, name in enumerate(("2031-007_1_front.tif", "2031-007_1_014r.tif")):
            Image.new("RGB", (60, 80), (90 * number + 40, 60, 60)).save(here / folder / name)


@pytest.mark.parametrize("document", DOCUMENTS)
def test_every_command_in_a_block_is_run(
    document: str, voicelog: Voicelog, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the order of the document, each in what the ones before it left."""
    # The quick recogniser: what is heard is no matter here.
    monkeypatch.setenv("VOICELOG_ENGINE", "vosk")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(Path.cwd() / "config"))
    # The tutorial begins with nothing.
    if document != TUTORIAL:
        _prepare(Path.cwd(), voicelog)
    shown = list(read_shown((ROOT / document).read_text(encoding="utf-8")))
    assert shown
    for command in shown:
        if command.arguments[0] == "export":
            monkeypatch.setenv(*command.arguments[1].split("="))
            continue
        arguments = [one for word in command.arguments[1:] for one in _expand(word)]
        if " ".join(arguments).startswith(WAITING):
            _parse(arguments)
            continue
        result = voicelog(*arguments, stdin=command.typed.encode())
        # A check that finds something ends with 1, as it should.
        fine = {0, 1} if arguments[0] in {"check", "doctor"} else {0}
        assert result.status in fine, (command.line, result.err)
        _compare(command, result.out + result.err)


def _expand(word: str) -> list[str]:
    """Return what the shell makes of a word with an asterisk."""
    return sorted(map(str, Path().glob(word))) if "*" in word else [word]


def _compare(command: Shown, printed: str) -> None:
    """Hold what a document says of an answer against the answer; "..." leaves lines out."""
    lines = iter([line.rstrip() for line in printed.splitlines() if line.strip()])
    is_next = False
    for wanted in command.answer:
        if wanted == "...":
            is_next = False
            continue
        if is_next:
            assert next(lines, None) == wanted, (command.line, printed)
        else:
            assert wanted in lines, (command.line, wanted, printed)
        is_next = True


@pytest.mark.parametrize("document", [*DOCUMENTS, "DEVELOPERS.md", "demo_data/README.md"])
def test_every_command_in_a_sentence_is_one(document: str) -> None:
    """Its name and its options are there; capitals stand for whatever one likes."""
    text = (ROOT / document).read_text(encoding="utf-8")
    for line in read_inside(text):
        words = shlex.split(line.replace("...", ""))[1:]
        if words[0].isupper() or words[0].startswith("-"):
            continue
        command: click.Command | None = cli
        while isinstance(command, click.Group) and words and not words[0].startswith("-"):
            found = command.get_command(click.Context(command), words[0])
            if found is None and command is not cli:
                break
            command = found
            words.pop(0)
        assert command is not None, line
        known = {name for each in command.params for name in each.opts} | {"--help"}
        assert {word for word in words if word.startswith("--")} <= known, line


def _parse(arguments: tuple[str, ...]) -> None:
    command: click.Command | None = cli
    context = click.Context(cli, info_name="voicelog")
    words = list(arguments)
    while isinstance(command, click.Group):
        command = command.get_command(context, words.pop(0))
    assert command is not None, arguments
    command.make_context(arguments[0], words, parent=context)
