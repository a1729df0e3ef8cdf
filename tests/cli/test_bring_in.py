"""voicelog bring-in: what is said about a bag from another bench."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Voicelog

HERE = "accession 2031-007\nvolume one, the green book, post binding\nleaf two, a ticket\n"
THERE = "accession 2031-007\nvolume one, spiral binding\nleaf two, a snapshot\nleaf three, a menu\n"


@pytest.fixture
def logs(voicelog: Voicelog, tmp_path: Path) -> tuple[Path, Path]:
    """A log, and a bag of another."""
    here, there, bag = tmp_path / "here", tmp_path / "there", tmp_path / "there.zip"
    voicelog("parse", "-", "--log", here, stdin=HERE.encode())
    voicelog("parse", "-", "--log", there, stdin=THERE.encode())
    assert voicelog("export", "bag", "--log", there, "--out", bag).status == 0
    return here, bag


def test_it_says_what_came_and_every_conflict_with_its_place(
    voicelog: Voicelog, logs: tuple[Path, Path]
) -> None:
    """The dry run says the same and changes nothing."""
    here, bag = logs
    before = voicelog("show", "--log", here).out
    dry = voicelog("bring-in", bag, "--log", here, "--dry-run")
    assert voicelog("show", "--log", here).out == before
    result = voicelog("bring-in", bag, "--log", here)
    assert (dry.status, result.status) == (0, 0)
    conflicts = [
        "2031-007, volume 1: binding: here 'post binding', at another bench 'spiral binding'.",
        (
            "2031-007, volume 1, leaf 2 recto: this side was logged at another bench too; "
            "here it has 1 ticket: is this one of them?"
        ),
    ]
    assert result.err.splitlines()[:2] == dry.err.splitlines()[:2] == conflicts
    counts = "4 notes, 2 new entries, 1 entry united with one of ours"
    assert f"From {bag} would come: {counts}." in dry.err
    assert f"From {bag} came: {counts}." in result.err
    assert "2 conflicts between the two benches are queried in the log" in result.err
    assert "menu" in voicelog("show", "--log", here).out


def test_the_same_bag_again_is_told_to_bring_nothing(
    voicelog: Voicelog, logs: tuple[Path, Path]
) -> None:
    """Status 0: nothing is wrong."""
    here, bag = logs
    first = voicelog("bring-in", bag, "--log", here, "--json")
    [record] = [json.loads(line) for line in first.out.splitlines()]
    assert (record["notes"], record["entries"], record["united"]) == (4, 2, 1)
    assert [one["field"] for one in record["conflicts"]] == ["binding", "item"]
    assert record["conflicts"][0]["place"] == "2031-007, volume 1"
    result = voicelog("bring-in", bag, "--log", here)
    assert (result.status, result.err) == (
        0,
        f"Everything in {bag} is here already; nothing was changed.\n",
    )


def test_a_refused_bag_begins_no_log(
    voicelog: Voicelog, logs: tuple[Path, Path], tmp_path: Path
) -> None:
    """Status 1, one sentence, and no folder is left."""
    _, bag = logs
    bag.write_bytes(bag.read_bytes()[:-200])
    result = voicelog("bring-in", bag, "--log", tmp_path / "new")
    assert result.status == 1
    assert "is no ZIP file that can be read" in result.err
    assert not (tmp_path / "new").exists()
