"""A file or folder is there when it is complete, and else never was."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from voicelog.errors import UsageError
from voicelog.exports.target import Shape, new_target


def write_new(target: Path, text: str, *, fails: bool = False) -> None:
    with new_target(target) as unfinished:
        unfinished.path.write_text(text)
        if fails:
            raise RuntimeError("interrupted")
        unfinished.seal()
        unfinished.take_name()


def test_a_file_is_complete_or_as_it_was(tmp_path: Path) -> None:
    """An export that fails half-way leaves the old file and nothing beside it."""
    target = tmp_path / "entries.csv"
    target.write_text("old")

    with pytest.raises(RuntimeError, match="interrupted"):
        write_new(target, "half", fails=True)
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]
    write_new(target, "new")
    assert target.read_text() == "new"


def test_targets_that_can_not_be_written_are_named(tmp_path: Path) -> None:
    """A folder, a device, a folder that is not there."""
    for path, sentence in (
        (tmp_path, "is not a file; name a file with --out"),
        (Path("/dev/null"), "is not a file; name a file with --out"),
        (tmp_path / "nowhere" / "x.csv", "is not there; make it, or name another"),
    ):
        with pytest.raises(UsageError, match=sentence), new_target(path):
            pass


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    """The file behind it is replaced."""
    real = tmp_path / "real.csv"
    real.write_text("old")
    link = tmp_path / "link.csv"
    link.symlink_to(real)
    write_new(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"


def test_a_folder_is_complete_or_not_there(tmp_path: Path) -> None:
    """Also one with folders in it; an empty one that is there is used."""
    target = tmp_path / "out"

    def half_way() -> None:
        with new_target(target, Shape.FOLDER) as unfinished:
            (unfinished.path / "half").write_text("half")
            raise RuntimeError("interrupted")

    with pytest.raises(RuntimeError, match="interrupted"):
        half_way()
    assert list(tmp_path.iterdir()) == []
    target.mkdir()
    with new_target(target, Shape.FOLDER) as unfinished:
        (unfinished.path / "deep").mkdir()
        (unfinished.path / "deep" / "file").write_text("whole")
        [file] = unfinished.seal()
        unfinished.take_name()
    assert file.name == "deep/file"
    assert file.sha256 == hashlib.sha256(b"whole").hexdigest()
    assert (target / "deep" / "file").read_text() == "whole"
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    """A folder can't be replaced in one go, so it isn't replaced at all."""
    (tmp_path / "mine").write_text("mine")
    with (
        pytest.raises(UsageError, match="is there already; name a new or an empty folder"),
        new_target(tmp_path, Shape.FOLDER),
    ):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]


def test_a_file_beside_another_comes_and_goes_with_it(tmp_path: Path) -> None:
    """Both or none, and both have a checksum."""
    target = tmp_path / "entries.csv"

    def write(*, ending: str) -> None:
        with new_target(target) as unfinished:
            unfinished.path.write_text("table")
            unfinished.beside("-metadata.json").write_text("{}")
            names = [file.name for file in unfinished.seal()]
            assert names == ["entries.csv", "entries.csv-metadata.json"]
            if ending == "failure":
                raise RuntimeError("interrupted")
            unfinished.take_name()

    with pytest.raises(RuntimeError, match="interrupted"):
        write(ending="failure")
    assert list(tmp_path.iterdir()) == []
    write(ending="well")
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "entries.csv",
        "entries.csv-metadata.json",
    ]


def test_a_name_that_was_taken_can_be_given_back(tmp_path: Path) -> None:
    """What had it before has it again; a file that is new is gone."""
    old, new = tmp_path / "old.csv", tmp_path / "new.csv"
    old.write_text("as it was")
    for path in (old, new):
        with new_target(path) as unfinished:
            unfinished.path.write_text("to be recorded")
            unfinished.take_name()
            assert path.read_text() == "to be recorded"
            unfinished.take_back_name()
    assert old.read_text() == "as it was"
    assert list(tmp_path.iterdir()) == [old]
