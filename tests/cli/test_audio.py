"""voicelog audio prune and voicelog sessions: what they say, and what they leave."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.cli.conftest import Voicelog
from tests.session.test_retention import LIVE, MARCH, Shelf
from voicelog.domain.entry import Status
from voicelog.domain.speakers import Speakers, Told
from voicelog.store.sessions import Incident, IncidentKind, Session, Way
from voicelog.store.writing import WritableLog

BROUGHT = Session(
    id="s-0",
    way=Way.RECORDING,
    device="morning.flac",
    handler="Ida Fenn",
    speakers=Speakers(people=("Ida Fenn", "Tom Vale"), told=Told.YES),
)
INCIDENTS = (
    Incident(kind=IncidentKind.PAUSE, at=MARCH, seconds=75.0, why="paused by the handler"),
    Incident(kind=IncidentKind.GAP, at=MARCH, seconds=3.26, why="no sound came"),
    Incident(kind=IncidentKind.CLOCK_SET, at=MARCH, seconds=-3600.0),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "green-book"
    with WritableLog.open_to_write(folder, made_by="voicelog test") as log:
        shelf = Shelf(log)
        shelf.put("morning.flac", Status.CONFIRMED, session=BROUGHT)
        shelf.put("live-1-001.wav", Status.CONFIRMED, session=LIVE)
        log.add_incidents(LIVE.id, INCIDENTS)
    return folder


class TestPrune:
    def test_a_dry_run_says_what_would_go_and_changes_nothing(
        self, voicelog: Voicelog, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("VOICELOG_AUDIO_RETENTION", "30 days")
        before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
        result = voicelog("audio", "prune", "--dry-run", "--log", folder, columns=120)
        assert result.status == 0
        after = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
        assert after == before

    def test_each_line_says_why(
        self, voicelog: Voicelog, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("VOICELOG_AUDIO_RETENTION", "until confirmed")
        result = voicelog("audio", "prune", "--dry-run", "--log", folder, columns=120)
        assert re.search(r"morning.flac .* goes +every entry resting on it", result.out)
        assert re.search(r"live-1-001.wav .* stays +its session has not ended", result.out)
        assert re.search(r"the sound of 1 recording would be removed \(1,300 bytes\)", result.err)

    def test_what_goes_is_gone_and_every_view_says_so(
        self, voicelog: Voicelog, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("VOICELOG_AUDIO_RETENTION", "until confirmed")
        result = voicelog("audio", "prune", "--log", folder)
        assert result.status == 0
        assert re.search(r"the sound of 1 recording was removed", result.err)
        assert not (folder / "audio" / "morning.flac").exists()
        removed = r"sound removed on \d{4}-\d\d-\d\d by the rule 'until confirmed'"
        assert re.search(rf"morning.flac  {removed}", voicelog("notes", "--log", folder).out)
        sessions = voicelog("sessions", "--log", folder).out
        assert re.search(rf"morning.flac: {removed}", sessions)

    def test_by_the_shipped_setting_everything_stays(
        self, voicelog: Voicelog, folder: Path
    ) -> None:
        result = voicelog("audio", "prune", "--log", folder)
        assert result.status == 0
        assert "the sound of 0 recordings was removed" in result.err
        assert (folder / "audio" / "morning.flac").exists()

    def test_a_mistyped_folder_becomes_no_log(self, voicelog: Voicelog, tmp_path: Path) -> None:
        result = voicelog("audio", "prune", "--log", tmp_path / "gren-book")
        assert result.status == 2
        assert "is not there" in result.err
        assert not (tmp_path / "gren-book").exists()

    def test_a_rule_that_makes_no_sense_is_one_sentence(
        self, voicelog: Voicelog, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("VOICELOG_AUDIO_RETENTION", "a fortnight")
        result = voicelog("audio", "prune", "--log", folder)
        assert result.status == 2
        assert "'a fortnight' is no rule; write 'keep'" in result.err


class TestSessions:
    def test_people_and_gaps_are_in_plain_words(self, voicelog: Voicelog, folder: Path) -> None:
        out = voicelog("sessions", "--log", folder).out
        assert "recorded: Ida Fenn, Tom Vale; were told that they are recorded" in out
        assert "recorded: nobody named; whether they were told is not on record" in out
        assert "pause of 1 min 15 s before 09:00:00: paused by the handler" in out
        assert "gap of 3.3 s before 09:00:00: no sound came" in out
        assert "the clock was set back by 1 h 0 min at 09:00:00" in out
        assert "2031-03-02 09:00:00, not ended" in out

    def test_as_json_lines(self, voicelog: Voicelog, folder: Path) -> None:
        lines = voicelog("sessions", "--log", folder, "--json").out.splitlines()
        brought, live = map(json.loads, lines)
        assert (brought["people"], brought["told"]) == (["Ida Fenn", "Tom Vale"], "yes")
        assert (brought["way"], brought["device"]) == ("recording", "morning.flac")
        assert (live["under_way"], live["broken_off"], live["notes"]) == (True, False, 1)
        assert [incident["kind"] for incident in live["incidents"]] == ["pause", "gap", "clock set"]
        assert live["recordings"][0]["sound_removed_at"] is None

    def test_a_log_of_typed_notes_has_none(self, voicelog: Voicelog, tmp_path: Path) -> None:
        WritableLog.open_to_write(tmp_path / "typed", made_by="voicelog test").close()
        result = voicelog("sessions", "--log", tmp_path / "typed")
        assert (result.status, result.out) == (0, "")
        assert "holds no sessions" in result.err
