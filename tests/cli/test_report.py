"""voicelog report: one page in short, then the detail."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Voicelog


@pytest.mark.parametrize(("name", "begins"), [("r.html", b"<!doctype html>"), ("r.pdf", b"%PDF-")])
def test_the_ending_of_the_name_decides_what_it_becomes(
    voicelog: Voicelog, filled_log: Path, tmp_path: Path, name: str, begins: bytes
) -> None:
    """A page or a document."""
    result = voicelog("report", "--log", filled_log, "--out", tmp_path / name)
    assert result.status == 0
    assert result.err == f"Report written to {tmp_path / name}.\n"
    assert (tmp_path / name).read_bytes().startswith(begins)


def test_several_logs_make_one_report(voicelog: Voicelog, filled_log: Path, tmp_path: Path) -> None:
    """Their volumes stand one after the other."""
    notes = tmp_path / "notes.txt"
    notes.write_text("accession 2031-007\nvolume two, the picnic album\nleaf one, a menu\n")
    voicelog("parse", notes, "--log", tmp_path / "other")
    target = tmp_path / "both.html"
    result = voicelog("report", "--log", filled_log, "--log", tmp_path / "other", "--out", target)
    assert result.status == 0
    assert "Volume 2, the picnic album" in target.read_text()
    assert f"Logs: {filled_log.name}, other." in target.read_text()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--out", "r.docx"), "ends with neither .html nor .pdf"),
        (("--out", "r.html", "--from", "May"), "--from 'May' is no day; write it as 2031-05-12"),
        (
            ("--out", "r.html", "--from", "2031-05-12", "--to", "2031-05-11"),
            "--to names a day before --from",
        ),
        (("--out", "nowhere/r.html"), "The folder of nowhere/r.html is not there"),
    ],
)
def test_what_makes_no_sense_is_refused(
    voicelog: Voicelog, filled_log: Path, arguments: tuple[str, ...], said: str
) -> None:
    """With status 2 and one sentence."""
    result = voicelog("report", "--log", filled_log, *arguments)
    assert result.status == 2
    assert said in result.err


def test_a_log_that_is_not_there_is_named(voicelog: Voicelog, tmp_path: Path) -> None:
    """Nothing is written."""
    result = voicelog("report", "--log", tmp_path / "none", "--out", tmp_path / "r.html")
    assert result.status == 2
    assert "none is not there" in result.err
    assert not (tmp_path / "r.html").exists()
