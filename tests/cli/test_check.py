"""voicelog check: what it prints, what it ends with, and what the log keeps."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.checks.logs import SOUND
from tests.checks.scans.pictures import draw_page, save_page
from tests.cli.conftest import Result, Voicelog
from voicelog.cli import run
from voicelog.store.log import Log

LEFT_ON_THE_BENCH = "box one holds the volume and no envelopes"


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log in which the ticket is not in the box, and one entry is queried; written once."""
    folder = tmp_path_factory.mktemp("written")
    notes = folder / "notes.txt"
    notes.write_text("\n".join([*SOUND[:-1], LEFT_ON_THE_BENCH, "back cover", "check this"]))
    assert run(["parse", str(notes), "--log", str(folder / "log")]) == 0
    return folder / "log"


@pytest.fixture
def green_book(written: Path, tmp_path: Path) -> Path:
    """A copy of that log."""
    return Path(shutil.copytree(written, tmp_path / "green-book"))


def records(result: Result) -> list[dict[str, object]]:
    return [json.loads(line) for line in result.out.splitlines()]


def test_json_is_the_finding_record(voicelog: Voicelog, green_book: Path) -> None:
    """Every key of the contract; nothing else on standard output; 1 for what is open."""
    result = voicelog("check", "--json", "--log", green_book)
    assert result.status == 1
    found = {record["finding"]: record for record in records(result)}
    assert set(found) == {"count-differs", "entry-doubtful", "entries-unconfirmed"}
    count = found["count-differs"]
    assert len(str(count.pop("id"))) == 8
    assert count == {
        "finding": "count-differs",
        "severity": "error",
        "entry": 1,
        "accession": "2031-007",
        "volume": "1",
        "leaf": None,
        "side": None,
        "message": "0 envelopes were counted into box 1; the log expects 1 (envelope 1).",
        "remedy": count["remedy"],
        "accepted": None,
        "notes": [9, 10, 14, 16],
    }
    doubtful = found["entry-doubtful"]
    assert (doubtful["leaf"], doubtful["side"]) == ("back cover", None)


def test_a_person_reads_what_is_wrong_and_what_stands_behind_it(
    voicelog: Voicelog, green_book: Path
) -> None:
    """Message, remedy, code, entry and the words of the notes."""
    out = " ".join(voicelog("check", "--log", green_book, columns=110).out.split())
    assert "2031-007 · volume 1, the green book" in out
    assert "error 0 envelopes were counted into box 1" in out
    assert "→ Take everything out and count it again" in out
    assert "note 18 “check this”" in out
    assert "1 error, 1 warning and 1 notice." in out


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_findings_fit_the_terminal(voicelog: Voicelog, green_book: Path, columns: int) -> None:
    """All but the line that is there to be copied."""
    lines = voicelog("check", "--log", green_book, columns=columns).out.splitlines()
    assert max(cell_len(line) for line in lines if "--accept" not in line) <= columns


def test_a_finding_is_accepted_with_a_reason_and_opened_again(
    voicelog: Voicelog, green_book: Path
) -> None:
    """The log keeps who, when and why; the exit status follows."""
    found = records(voicelog("check", "--json", "--log", green_book))
    ids = {record["finding"]: record["id"] for record in found}
    one = voicelog(
        *("check", "--json", "--log", green_book, "--by", "Hazel Wren"),
        *("--accept", ids["count-differs"], "--reason", "  the ticket is on  loan "),
    )
    assert one.status == 1
    reasons = {record["finding"]: record["accepted"] for record in records(one)}
    assert reasons["count-differs"] == "the ticket is on loan"
    assert reasons["entry-doubtful"] is None
    both = voicelog("check", "--log", green_book, "--accept", "entry-doubtful", "--reason", "seen")
    assert both.status == 0
    assert "because: the ticket is on loan" in both.out
    assert "1 notice; 2 accepted." in both.out
    assert voicelog("check", "--log", green_book).status == 0
    again = voicelog("check", "--log", green_book, "--reopen", "count-differs")
    assert again.status == 1
    with Log.open(green_book) as log:
        kept = [(one.code, one.reason, one.by) for one in log.iter_acceptances()]
    assert kept[0] == ("count-differs", "the ticket is on loan", "Hazel Wren")
    assert [(code, reason) for code, reason, _ in kept[1:]] == [
        ("entry-doubtful", "seen"),
        ("count-differs", None),
    ]


def test_an_acceptance_ends_when_the_facts_change(voicelog: Voicelog, green_book: Path) -> None:
    """Two envelopes fewer are not the one that was accepted."""
    voicelog("check", "--log", green_book, "--accept", "count-differs", "--reason", "on loan")
    more = b"leaf two recto\na menu, came off, number on the back, goes in envelope two"
    assert voicelog("parse", "-", "--log", green_book, stdin=more).status == 0
    found = records(voicelog("check", "--json", "--log", green_book))
    assert [one["accepted"] for one in found if one["finding"] == "count-differs"] == [None]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--accept", "count-differs"), "needs a reason; add --reason"),
        (("--accept", "count-differs", "--reason", "  "), "needs a reason"),
        (("--reason", "why not"), "add --accept and its id"),
        (("--accept", "count-difers", "--reason", "x"), "did you mean 'count-differs'"),
        (("--accept", "zzzz", "--reason", "x"), "give the id or the code that the check shows"),
        (("--reopen", "count-differs"), "finds no 'count-differs' to decide about"),
        (("--count", "box one holds a postcard"), "is no closing count; say it like"),
        (("--scan-name", "014r.jpg"), "is no example of a file name"),
    ],
)
def test_wrong_usage_is_one_sentence(
    voicelog: Voicelog, green_book: Path, arguments: tuple[str, ...], message: str
) -> None:
    """Status 2, and nothing was written."""
    result = voicelog("check", "--log", green_book, *arguments)
    assert result.status == 2
    assert message in result.err
    with Log.open(green_book) as log:
        assert list(log.iter_acceptances()) == []


def test_a_count_can_be_given_instead_of_said(voicelog: Voicelog, green_book: Path) -> None:
    """It replaces the one in the log."""
    result = voicelog(
        *("check", "--json", "--log", green_book),
        *("--count", "box 1 holds the volume and one envelope"),
    )
    assert "count-differs" not in {record["finding"] for record in records(result)}


def test_scans_are_looked_at(voicelog: Voicelog, green_book: Path, tmp_path: Path) -> None:
    """By the examples of the command line; a folder that isn't there is one sentence."""
    save_page(tmp_path / "scans" / "1v.jpg", draw_page(1, items=2))
    result = voicelog(
        *("check", "--json", "--log", green_book),
        *("--scans", f"1={tmp_path / 'scans'}", "--scan-name", "1r.jpg is leaf 1 recto"),
    )
    found = {record["finding"]: record for record in records(result)}
    blank = found["scan-not-blank"]
    assert (blank["leaf"], blank["side"]) == ("1", "verso")
    assert blank["message"] == "1v.jpg shows something, but leaf 1 verso was said to be blank."
    missing = voicelog("check", "--log", green_book, "--scans", tmp_path / "attic")
    assert missing.status == 1
    assert "attic is not a folder" in missing.err


def test_a_log_that_is_not_there_is_wrong_usage(voicelog: Voicelog, tmp_path: Path) -> None:
    """As everywhere."""
    result = voicelog("check", "--log", tmp_path / "nowhere")
    assert result.status == 2
    assert "begin one with" in result.err


def test_an_empty_log_has_nothing_to_look_at(voicelog: Voicelog, tmp_path: Path) -> None:
    """It ends well, and says so."""
    folder = tmp_path / "empty"
    assert voicelog("parse", "-", "--log", folder, stdin=b"accession 2031-007\n").status == 0
    result = voicelog("check", "--log", folder)
    assert (result.status, result.out.strip()) == (0, "Nothing to look at.")


def test_the_log_refuses_to_change_an_acceptance(voicelog: Voicelog, green_book: Path) -> None:
    """What somebody accepted is only ever added to, whatever program opens the file."""
    import sqlite3  # noqa: PLC0415 - as another program would

    voicelog("check", "--log", green_book, "--accept", "count-differs", "--reason", "on loan")
    with sqlite3.connect(green_book / "log.sqlite") as database:
        for change in ("UPDATE acceptances SET reason = 'x'", "DELETE FROM acceptances"):
            with pytest.raises(sqlite3.IntegrityError, match="only ever added to"):
                database.execute(change)
    database.close()
