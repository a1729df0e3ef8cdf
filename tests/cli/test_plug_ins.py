"""A package that adds one of each kind, built, installed and used through the commands."""

from __future__ import annotations

import importlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urljoin
from urllib.request import HTTPCookieProcessor, build_opener

import pytest

from tests.cli.conftest import Voicelog
from tests.review.pages.command import Command
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.session.recordings import take_recording
from voicelog.session.scribe import Scribe
from voicelog.store.writing import WritableLog
from voicelog.testing import ScriptedRecogniser
from voicelog.vocabulary import load_vocabulary

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "tests" / "plug_ins" / "tarn_valley"
REFERENCE = (ROOT / "voicelog" / "documents" / "REFERENCE.md").read_text(encoding="utf-8")
RECORDING = ROOT / "demo_data" / "recordings" / "4-picnic-album.flac"
NOTES = b"""accession 2031-007
volume one, the green book
leaf three
a lamplighter's badge, loose
number on the back
a photograph, photo corners
"""
# Every way in which a package can be wrong, and what is said of it.
BROKEN = {
    "voicelog.vocabulary": (
        ("collides", "broken_terms.collides", "would stand for both 'snapshot'"),
        ("empty", "broken_terms", "has no term files (.toml)"),
    ),
    "voicelog.engines": (
        ("absent", "no_such_module:Engine", "can't be loaded (ModuleNotFoundError"),
        ("fails", "broken:make_failing", "failed while hearing (ZeroDivisionError"),
        ("unmade", "broken:NUMBER", "made no recogniser (TypeError"),
    ),
    "voicelog.exports": (
        ("number", "broken:NUMBER", "is of type int, not Format"),
        ("taken", "broken:TAKEN", "is left out: its name is taken"),
        ("unwritten", "broken:UNWRITTEN", "is left out: nothing writes it"),
        ("fails", "broken:FAILING", "failed while writing (ZeroDivisionError"),
    ),
    "voicelog.checks": (
        ("taken", "broken:TAKEN_CHECK", "is left out: volume-missing is taken"),
        ("fails", "broken:FAILING_CHECK", "failed while checking (ZeroDivisionError"),
    ),
}
BROKEN_MODULE = """
from voicelog.checks.rules import Check, Rule
from voicelog.domain.finding import Severity
from voicelog.exports.formats import Format


class Failing:
    engine, model = "fails", "none"

    def recognise(self, segment):
        return 1 / 0


def make_failing(options):
    return Failing()


def fail(*anything):
    yield 1 / 0


NUMBER = 7
TAKEN = Format(name="csv", summary="another one", write=print)
UNWRITTEN = Format(name="unwritten", summary="nothing")
FAILING = Format(name="fails", summary="fails", write=lambda *_: 1 / 0)
FACTS = {"severity": Severity.NOTICE, "found": "nowhere", "remedy": "None."}
TAKEN_CHECK = Check(rules=(Rule(code="volume-missing", **FACTS),), find=fail)
FAILING_CHECK = Check(rules=(Rule(code="failing", **FACTS),), find=fail)
"""
COLLIDING_TERMS = """
field = "item_type"

[[concept]]
id = "likeness"
term = "snapshot"
definition = "Another name for what is there."
"""


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample package, installed into a folder by pip, without a network."""
    if importlib.util.find_spec("hatchling") is None:
        message = "hatchling is missing; pip install '.[test]' brings it."
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
    folder = tmp_path_factory.mktemp("plug-in")
    source, target = folder / "source", folder / "installed"
    shutil.copytree(SAMPLE, source)
    pip = (sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", "install")
    alone = ("--no-index", "--no-deps", "--no-build-isolation")
    subprocess.run([*pip, *alone, "--target", target, source], check=True, timeout=300)
    return target


@pytest.fixture
def installed(built: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The sample package is there, as if it were installed beside voicelog."""
    monkeypatch.syspath_prepend(built)
    importlib.invalidate_caches()
    return built


@pytest.fixture
def broken(installed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A second package, in which everything is wrong, beside the good one."""
    folder = tmp_path / "broken"
    terms = folder / "broken_terms" / "collides"
    terms.mkdir(parents=True)
    for package in (terms.parent, terms):
        (package / "__init__.py").touch()
    (terms / "item_type.toml").write_text(COLLIDING_TERMS)
    (folder / "broken.py").write_text(BROKEN_MODULE)
    metadata = folder / "broken-0.1.dist-info"
    metadata.mkdir()
    (metadata / "METADATA").write_text("Metadata-Version: 2.1\nName: broken\nVersion: 0.1\n")
    (metadata / "entry_points.txt").write_text(
        "".join(
            f"[{group}]\n" + "".join(f"{name} = {value}\n" for name, value, _ in each)
            for group, each in BROKEN.items()
        )
    )
    monkeypatch.syspath_prepend(folder)
    importlib.invalidate_caches()
    return installed


@pytest.fixture
def spoken_log(tmp_path: Path) -> Path:
    """A log of a recording, heard by the shipped double."""
    folder = tmp_path / "spoken"
    logbook = Logbook(Reader(load_vocabulary(), ReadingOptions()))
    with WritableLog.open_to_write(folder, made_by="voicelog test") as log:
        hearing = Hearing(
            recogniser=ScriptedRecogniser(["volume two, the picnic album"] * 99),
            segments=SegmentOptions(),
        )
        take_recording(RECORDING, Scribe(log, logbook), hearing)
    return folder


def visitor(address: str) -> Callable[[str], str]:
    """Use the address of the review, and return what gets its pages."""
    opener = build_opener(HTTPCookieProcessor())
    opener.open(address, timeout=60).close()

    def visit(path: str) -> str:
        try:
            answer = opener.open(urljoin(address, path), timeout=60)
        except HTTPError as refusal:
            answer = refusal
        with answer:
            return str(answer.read().decode("utf-8"))

    return visit


@pytest.fixture
def log(voicelog: Voicelog, installed: Path, tmp_path: Path) -> Path:
    """A log in which the sample package has something to do."""
    assert installed
    folder = tmp_path / "log"
    assert voicelog("parse", "-", "--log", folder, stdin=NOTES).status == 0
    return folder


def test_its_term_is_understood_and_listed(voicelog: Voicelog, log: Path) -> None:
    """With what people also say for it, and without a doubt."""
    rows = [json.loads(line) for line in voicelog("show", "--log", log, "--json").out.splitlines()]
    (badge,) = [row for row in rows if row["item_type"] == ["lamp badge"]]
    assert badge["doubts"] == []
    assert "lamplighter's badge" in voicelog("vocabulary", "list", "item_type", columns=200).out
    assert voicelog("vocabulary", "check").status == 0


def test_its_engine_hears_a_recording(voicelog: Voicelog, installed: Path, tmp_path: Path) -> None:
    """Chosen by its name; the note says which engine wrote it."""
    assert installed
    folder = tmp_path / "heard"
    done = voicelog("transcribe", RECORDING, "--log", folder, "--engine", "stopwatch")
    assert done.status == 0
    first = json.loads(voicelog("notes", "--log", folder, "--json").out.splitlines()[0])
    assert first["engine"] == "stopwatch"
    assert first["text"].startswith("remark ")


def test_its_format_is_listed_and_written(voicelog: Voicelog, log: Path, tmp_path: Path) -> None:
    """It gets what may leave, and the log records it like any other."""
    assert "every mark with its entry" in voicelog("export", "--help").out
    target = tmp_path / "marks.txt"
    unconfirmed = "--include-unconfirmed"
    assert voicelog("export", "mark-list", unconfirmed, "--log", log, "--out", target).status == 0
    assert target.read_text() == "2031-007 vol. 1, 3r, 1\t2\n"
    assert "mark-list" in voicelog("exports", "--log", log).out


def test_its_finding_is_found_and_accepted(voicelog: Voicelog, log: Path) -> None:
    """It has an id like any other, and a reason is kept for it."""
    arguments = ("--accept", "photograph-without-caption", "--reason", "the back is blank")
    assert "1 accepted" in voicelog("check", "--log", log, *arguments, "--by", "Hazel Wren").err
    found = [
        json.loads(line) for line in voicelog("check", "--log", log, "--json").out.splitlines()
    ]
    accepted = {one["finding"]: one["accepted"] for one in found}
    assert accepted["photograph-without-caption"] == "the back is blank"


def test_doctor_names_what_is_plugged_in(voicelog: Voicelog, installed: Path) -> None:
    """Each with the package that it comes from."""
    assert installed
    out = voicelog("doctor", columns=200).out
    for name in ("tarn-valley", "stopwatch", "mark-list", "captions"):
        assert f"ready  plug-in {name}" in " ".join(out.split(" ")).replace("    ", "  ")
    assert "tarn-valley 1.0 adds it to voicelog.exports" in out


def test_the_reference_lists_what_is_plugged_in(voicelog: Voicelog, installed: Path) -> None:
    """Beside what voicelog brings; the reference that travels with voicelog has only that."""
    assert installed
    for part, row in (
        ("engines", "| `stopwatch` | a plug-in, of tarn-valley 1.0 |"),
        ("formats", "| `mark-list` | every mark with its entry | entry |"),
        ("findings", "| `photograph-without-caption` | notice |"),
    ):
        out = voicelog("reference", part).out
        assert row in out
        ours = {line for line in REFERENCE.splitlines() if line in out.splitlines()}
        assert len(ours) == len(set(out.splitlines())) - 1


def test_its_engine_hears_a_note_again_in_the_review(
    spoken_log: Path, broken: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Offered like the engines that voicelog brings; a broken one says so in a sentence."""
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(sys.path))
    assert broken
    with Command(spoken_log) as command:
        visit = visitor(command.address)
        offered = visit("/notes/1/hearing")
        again = visit("/notes/1/again?engine=stopwatch")
        failed = visit("/notes/1/again?engine=fails")
    for engine in ("stopwatch", "fails", "absent", "unmade"):
        assert f"/notes/1/again?engine={engine}" in offered
    assert "<ins>remark" in again
    assert "failed while hearing (ZeroDivisionError" in failed


def test_a_broken_plug_in_is_one_sentence_and_the_rest_goes_on(
    voicelog: Voicelog, broken: Path, tmp_path: Path
) -> None:
    """Whatever is wrong with it; what the good package adds is there all the same."""
    assert broken
    log, target = tmp_path / "log", tmp_path / "marks.txt"
    told = voicelog("parse", "-", "--log", log, stdin=NOTES)
    assert told.status == 0
    checked = voicelog("check", "--log", log)
    assert "photograph-without-caption" in checked.out
    options = ("--include-unconfirmed", "--log", log, "--out")
    exported = voicelog("export", "mark-list", *options, target)
    assert target.exists()
    failed = voicelog("export", "fails", *options, tmp_path / "not there")
    assert failed.status == 1
    assert not (tmp_path / "not there").exists()
    heard = [
        voicelog("transcribe", RECORDING, "--log", tmp_path / name, "--engine", name)
        for name in ("absent", "fails", "unmade")
    ]
    assert {each.status for each in heard} == {1}
    said = "".join(each.err for each in (told, checked, exported, failed, *heard))
    assert "Traceback" not in said
    for group, each in BROKEN.items():
        for name, _, message in each:
            lines = {
                line for line in said.splitlines() if f"{name!r} ({group}) of broken 0.1" in line
            }
            assert [line for line in lines if message in line], (group, name)


def test_adding_one_of_each_takes_less_than_twenty_lines() -> None:
    """DEVELOPERS.md shows the files as they are, and none is longer."""
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    folder = SAMPLE / "tarn_valley"
    for name in ("terms/item_type.toml", "stopwatch.py", "mark_list.py", "captions.py"):
        text = (folder / name).read_text(encoding="utf-8")
        assert text.rstrip() in guide, name
        assert len([line for line in text.splitlines() if line.strip()]) < 20, name
    points = (SAMPLE / "pyproject.toml").read_text(encoding="utf-8").split("\n\n", 2)[2]
    assert points.rstrip() in guide
