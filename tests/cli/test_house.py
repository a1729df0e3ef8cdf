"""voicelog house: what it prints, as a table and as records."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PIL import Image
from rich.cells import cell_len

from tests.cli.conftest import Voicelog
from voicelog.cli import run

PRIVATE = b"""accession 2031-007
volume one, the green book, ten leaves
leaf two, report card, upper left
caption reads marks of the winter term
leaf three, a ticket
"""
NOTES = b"""accession 2031-007
volume one, the green book, post binding, black paper
measures eleven and a quarter by fourteen inches, twenty four leaves
leaf two, newspaper clipping, yellowed, cellophane tape
next leaf, a snapshot, came off, goes into envelope one
measures two and a half by three and a half inches
leaf nine, mould
volume two, the picnic album, spiral binding, self-adhesive pages, clear plastic overlay
ten by eleven and a half inches, twenty leaves
leaf one, four colour photographs
"""


@pytest.fixture(scope="module")
def two_volumes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of both volumes of the demo scenario, from typed notes; commands only read it."""
    folder = tmp_path_factory.mktemp("house")
    (folder / "notes.txt").write_bytes(NOTES)
    with pytest.MonkeyPatch.context() as surroundings:
        surroundings.setenv("XDG_CONFIG_HOME", str(folder / "config"))
        assert run(["parse", str(folder / "notes.txt"), "--log", str(folder / "log")]) == 0
    return folder / "log"


def test_house_prints_one_record_for_each_volume_supply_and_rank(
    voicelog: Voicelog, two_volumes: Path
) -> None:
    """JSON Lines and nothing else."""
    result = voicelog("house", "--json", "--log", two_volumes)
    records = [json.loads(line) for line in result.out.splitlines()]
    assert result.status == 0
    assert [record["volume"] for record in records if record["house"] == "volume"] == ["1", "2"]
    green = records[0]
    assert green["envelopes"] == [
        {"enclosure": "envelope 1", "entries": [3], "envelope": "envelope C7", "reason": None}
    ]
    assert [sheet["left"] for sheet in green["interleaving"]] == ["leaf 1 verso"]
    assert [caution["id"] for caution in green["cautions"]] == ["mould"]
    assert green["cautions"][0]["wording"].endswith(
        "Follow local codes and policies; a conservator or other licensed professional decides."
    )
    assert {record["item"] for record in records if record["house"] == "supply"} >= {
        "envelope C7",
        "buffered sheet ANSI C, 17 x 22 inch",
    }
    ranks = [record for record in records if record["house"] == "care"]
    # Mould 25 + 1 of 20 failing adhesives 0.25; 20 of 20 self-adhesive leaves 20.
    assert [(rank["rank"], rank["volume"], rank["points"]) for rank in ranks] == [
        (1, "1", 25.2),
        (2, "2", 20.0),
    ]
    assert all(
        sum(part["points"] for part in rank["parts"]) == pytest.approx(rank["points"], abs=0.2)
        for rank in ranks
    )


@pytest.mark.parametrize("columns", [60, 80, 120, 200])
def test_the_plan_fits_the_terminal(voicelog: Voicelog, two_volumes: Path, columns: int) -> None:
    """No line is wider than the terminal, and the cautions are shown in full."""
    result = voicelog("house", "--log", two_volumes, columns=columns)
    assert result.status == 0
    assert max(cell_len(line) for line in result.out.splitlines()) <= columns
    together = " ".join(result.out.split())
    assert "2031-007 · volume 1, the green book" in together
    assert "envelope 1: envelope C7 (entry 3: snapshot)" in together
    assert "none: clear plastic covers the pages" in together
    assert "a conservator or other licensed professional decides." in together


@pytest.mark.parametrize("name", ["2", "picnic album", "the picnic album"])
def test_one_volume_can_be_asked_for(voicelog: Voicelog, two_volumes: Path, name: str) -> None:
    """By its number or the donor's name, with or without the article."""
    result = voicelog("house", "--json", "--log", two_volumes, "--volume", name)
    records = [json.loads(line) for line in result.out.splitlines()]
    assert [record["volume"] for record in records if record["house"] == "volume"] == ["2"]


def test_a_volume_that_is_not_there_is_told_with_those_that_are(
    voicelog: Voicelog, two_volumes: Path
) -> None:
    """Wrong usage."""
    result = voicelog("house", "--log", two_volumes, "--volume", "3")
    assert result.status == 2
    assert "There is no volume '3'" in result.err
    assert "'volume 1, the green book'" in result.err


def test_an_own_stock_gives_costs_and_shortages(
    voicelog: Voicelog, two_volumes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The table that the setting names replaces ours."""
    stock = tmp_path / "stock.toml"
    stock.write_text(
        'currency = "EUR"\n[[envelope]]\nname = "small one"\ninside = [100, 120]\n'
        "caliper_mm = 0.1\nweight_g = 4\nprice = 0.25\non_hand = 0\n",
        encoding="utf-8",
    )
    monkeypatch.setenv("VOICELOG_STOCK_FILE", str(stock))
    records = [
        json.loads(line)
        for line in voicelog("house", "--json", "--log", two_volumes).out.splitlines()
    ]
    (supply,) = [record for record in records if record["house"] == "supply"]
    assert (supply["item"], supply["needed"], supply["short"], supply["cost"]) == (
        "small one",
        1,
        1,
        "0.25",
    )
    shown = voicelog("house", "--log", two_volumes).out
    assert "Together 0.25 EUR." in shown


def test_a_stock_that_makes_no_sense_is_one_sentence(
    voicelog: Voicelog, two_volumes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And wrong usage: the setting is the user's."""
    stock = tmp_path / "stock.toml"
    stock.write_text('[[box]]\nname = "b"\ninside = [0, 1, 1]\nweight_g = 1\n', encoding="utf-8")
    monkeypatch.setenv("VOICELOG_STOCK_FILE", str(stock))
    result = voicelog("house", "--log", two_volumes)
    assert result.status == 2
    assert "box b, inside.0" in result.err
    assert "Traceback" not in result.err


def test_a_log_without_entries_is_told(voicelog: Voicelog, tmp_path: Path) -> None:
    """Nothing to house is no failure."""
    empty = tmp_path / "empty"
    assert voicelog("parse", "-", "--log", empty, stdin=b"accession 2031-007\n").status == 0
    result = voicelog("house", "--log", empty)
    assert result.status == 0
    assert "holds no entries yet" in result.err


def test_paper_is_written_instead_of_the_plan(
    voicelog: Voicelog, two_volumes: Path, tmp_path: Path
) -> None:
    """Every file that was asked for, with a picture of its first page; the plan stays unsaid."""
    files = {name: tmp_path / f"{name}.pdf" for name in ("labels", "paper", "ranking")}
    options = [part for name, path in files.items() for part in (f"--{name}", path)]
    result = voicelog("house", "--log", two_volumes, "--preview", *options)
    assert result.status == 0
    assert result.out == ""
    assert "2 labels on a4-3x7" in result.err
    for path in files.values():
        assert path.read_bytes().startswith(b"%PDF-")
        assert path.with_suffix(".png").read_bytes().startswith(b"\x89PNG")


def test_json_and_paper_go_together(voicelog: Voicelog, two_volumes: Path, tmp_path: Path) -> None:
    """Records on standard output, messages beside it."""
    target = tmp_path / "labels.pdf"
    result = voicelog("house", "--json", "--log", two_volumes, "--labels", target)
    assert json.loads(result.out.splitlines()[0])["house"] == "volume"
    assert target.exists()


def test_the_alignment_page_needs_no_log(voicelog: Voicelog, tmp_path: Path) -> None:
    """One tries the printer before there is anything to print."""
    target = tmp_path / "try.pdf"
    result = voicelog("house", "--alignment", target, "--layout", "letter-2x5")
    assert result.status == 0
    assert "letter-2x5" in result.err
    assert target.exists()


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--labels", "nowhere/l.pdf"), "The folder of nowhere/l.pdf is not there"),
        (("--labels", "."), "is not a file; name a file with --labels"),
        (("--labels", "l.pdf", "--layout", "a5"), "There is no label sheet 'a5'"),
        (("--labels", "l.pdf", "--entries", "3-x"), "is not a list of entry numbers"),
        (("--labels", "l.pdf", "--entries", "9-3"), "is not a list of entry numbers"),
        (("--labels", "l.pdf", "--skip", "-1"), "is not in the range"),
    ],
)
def test_paper_that_cannot_be_is_one_sentence(
    voicelog: Voicelog, two_volumes: Path, options: tuple[str, ...], told: str
) -> None:
    """Wrong usage; nothing is written."""
    result = voicelog("house", "--log", two_volumes, *options)
    assert result.status == 2
    assert told in " ".join(result.err.split())
    assert not Path("l.pdf").exists()


def test_labels_for_entries_without_an_enclosure_are_none(
    voicelog: Voicelog, two_volumes: Path, tmp_path: Path
) -> None:
    """Said, and no empty sheet written."""
    target = tmp_path / "labels.pdf"
    result = voicelog("house", "--log", two_volumes, "--labels", target, "--entries", "2")
    assert result.status == 0
    assert "No labels" in result.err
    assert not target.exists()


def test_a_guide_is_written_for_each_volume(
    voicelog: Voicelog, two_volumes: Path, tmp_path: Path
) -> None:
    """As HTML and PDF, into a folder that is made; written again it replaces itself."""
    target = tmp_path / "guides"
    for _ in range(2):
        result = voicelog("house", "--log", two_volumes, "--guide", target)
        assert result.status == 0
        assert sorted(path.name for path in target.iterdir()) == [
            "2031-007-volume-1-the-green-book-guide.html",
            "2031-007-volume-1-the-green-book-guide.pdf",
            "2031-007-volume-2-the-picnic-album-guide.html",
            "2031-007-volume-2-the-picnic-album-guide.pdf",
        ]


def test_scans_stand_in_the_guide_and_are_left_alone(
    voicelog: Voicelog, two_volumes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beside the page they show; one that can't be shown is told, and the guide still written."""
    scans = tmp_path / "scans"
    scans.mkdir()
    Image.new("RGB", (300, 200), (120, 90, 60)).save(scans / "002r.jpg")
    Image.effect_noise((300, 200), 80).save(scans / "003r.jpg")
    damaged = scans / "003r.jpg"
    damaged.write_bytes(damaged.read_bytes()[:700])
    before = {path.name: path.read_bytes() for path in scans.iterdir()}
    monkeypatch.setenv("VOICELOG_SCAN_NAMES", '["014r.jpg is leaf 14 recto"]')
    target = tmp_path / "guides"
    result = voicelog(
        "house", "--log", two_volumes, "--guide", target, "--scans", f"1={scans}", "--volume", "1"
    )
    assert result.status == 0
    html = (target / "2031-007-volume-1-the-green-book-guide.html").read_text(encoding="utf-8")
    assert 'alt="Picture of leaf 2 recto"' in html
    assert 'alt="Picture of leaf 3 recto"' not in html
    assert "1 scan could not be read" in result.err
    assert {path.name: path.read_bytes() for path in scans.iterdir()} == before


def test_no_picture_shows_what_is_restricted(
    voicelog: Voicelog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A report card is on leaf 2 recto; leaf 3 recto is shown. On request both are."""
    scans = tmp_path / "scans"
    scans.mkdir()
    for name in ("002r.jpg", "003r.jpg"):
        Image.new("RGB", (300, 200), (120, 90, 60)).save(scans / name)
    log, target = tmp_path / "log", tmp_path / "guides"
    assert voicelog("parse", "-", "--log", log, stdin=PRIVATE).status == 0
    monkeypatch.setenv("VOICELOG_SCAN_NAMES", '["014r.jpg is leaf 14 recto"]')
    options = ("house", "--log", log, "--guide", target, "--scans", scans)
    result = voicelog(*options)
    (html,) = (path.read_text(encoding="utf-8") for path in target.glob("*.html"))
    assert 'alt="Picture of leaf 3 recto"' in html
    assert 'alt="Picture of leaf 2 recto"' not in html
    assert "marks of the winter term" not in html
    assert "1 page shows something restricted" in result.err
    voicelog(*options, "--include-restricted")
    (html,) = (path.read_text(encoding="utf-8") for path in target.glob("*.html"))
    assert 'alt="Picture of leaf 2 recto"' in html
    assert "marks of the winter term" in html


def test_a_guide_that_cannot_be_written_is_one_sentence(
    voicelog: Voicelog, two_volumes: Path, tmp_path: Path
) -> None:
    """A file in the way, or no place for the folder."""
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for target, told in ((tmp_path / "file", "is not a folder"), (tmp_path / "no" / "g", "is not")):
        result = voicelog("house", "--log", two_volumes, "--guide", target)
        assert result.status == 2
        assert told in result.err
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"
