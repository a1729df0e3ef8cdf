"""Sound is removed by the rule alone, on record, and never before it was heard."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from voicelog.domain.entry import Entry, Kind, Status
from voicelog.domain.note import Note
from voicelog.domain.retention import KeepSound, Retention, format_retention, parse_retention
from voicelog.errors import ParseError, SoundRemoved
from voicelog.session.retention import judge_sound, remove_sound
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.sessions import Session, Way
from voicelog.store.writing import Understanding, WritableLog

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
UNTIL_CONFIRMED = Retention(keep=KeepSound.UNTIL_CONFIRMED)
THIRTY_DAYS = Retention(keep=KeepSound.FOR_DAYS, days=30)
MAY = "2031-05-20T09:00:00+00:00"
MARCH = "2031-03-02T09:00:00+00:00"
SOUND = b"what was said" * 100


class Shelf:
    """A log with recordings of our choosing on it."""

    def __init__(self, log: WritableLog) -> None:
        self.log = log
        self._entries: list[Entry] = []

    def put(
        self,
        name: str,
        *statuses: Status,
        taken_at: str = MARCH,
        is_heard: bool = True,
        session: Session | None = None,
        has_note: bool = True,
    ) -> None:
        """Take in a recording, with one note behind which stand entries of these statuses."""
        (self.log.audio_folder / name).write_bytes(SOUND)
        recording = Recording(
            file=name,
            uid=f"uid of {name}",
            original_name=name,
            sha256=f"fingerprint of {name}",
            size_bytes=len(SOUND),
            taken_at=taken_at,
            duration_s=2.0,
            session=None if session is None else session.id,
        )
        if session is not None:
            self.log.begin_session(session)
        self.log.add_recording(recording)
        if has_note:
            self._add_note(name, statuses)
        if is_heard:
            self.log.finish_recording(name)

    def _add_note(self, name: str, statuses: tuple[Status, ...]) -> None:
        number = self.log.count_notes() + 1
        entries = [
            Entry(id=f"{name}-{nth}", kind=Kind.ITEM, status=status, notes=(number,))
            for nth, status in enumerate(statuses)
        ]
        self._entries += entries
        order = tuple(entry.id for entry in self._entries)
        self.log.add_note(
            Note(number=number, uid=f"n-{number}", text="a map", recording=name, end_s=1.5),
            Understanding(changed=tuple(entries), order=order, struck=frozenset()),
            heard_to_s=1.5,
        )

    def judge(self, retention: Retention) -> dict[str, tuple[bool, str]]:
        verdicts = judge_sound(self.log, retention, now=NOW)
        return {verdict.recording.file: (verdict.goes, verdict.why) for verdict in verdicts}


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Shelf]:
    with WritableLog.open_to_write(tmp_path / "log", made_by="voicelog test") as log:
        yield Shelf(log)


LIVE = Session(id="s-1", way=Way.LIVE, device="headset", journal="live-1", began_at=MARCH)
ENDED = replace(LIVE, id="s-2", ended_at=MARCH)


class TestRules:
    """What each rule lets go. Every reason is one that a person can act on."""

    @pytest.mark.parametrize(
        ("statuses", "goes", "why"),
        [
            ((Status.CONFIRMED,), True, "every entry resting on it is confirmed or void (1)"),
            (
                (Status.CONFIRMED, Status.VOID),
                True,
                "every entry resting on it is confirmed or void (2)",
            ),
            ((Status.VOID,), True, "every entry resting on it is confirmed or void (1)"),
            (
                (Status.CONFIRMED, Status.HEARD),
                False,
                "1 entry that rests on it is not confirmed yet",
            ),
            (
                (Status.QUERIED, Status.HEARD),
                False,
                "2 entries that rest on it are not confirmed yet",
            ),
            ((), False, "no entry rests on it, so nobody has confirmed what was heard"),
        ],
    )
    def test_until_confirmed(
        self, shelf: Shelf, statuses: tuple[Status, ...], *, goes: bool, why: str
    ) -> None:
        shelf.put("one.wav", *statuses)
        assert shelf.judge(UNTIL_CONFIRMED) == {"one.wav": (goes, why)}

    def test_an_entry_that_rests_on_two_recordings_keeps_both(self, shelf: Shelf) -> None:
        """A caption may run on into the next file."""
        shelf.put("one.wav", Status.CONFIRMED)
        shelf.put("two.wav", Status.CONFIRMED)
        both = Entry(id="both", kind=Kind.ITEM, status=Status.QUERIED, notes=(1, 2))
        order = ("one.wav-0", "two.wav-0", "both")
        understood = Understanding(changed=(both,), order=order, struck=frozenset())
        shelf.log.write_understanding(understood, reason="a test")
        assert not any(goes for goes, _ in shelf.judge(UNTIL_CONFIRMED).values())

    def test_days_count_from_when_it_was_taken_in(self, shelf: Shelf) -> None:
        """The day that a recording names itself may lie years back."""
        shelf.put("old.wav", Status.CONFIRMED, taken_at=MARCH)
        shelf.put("new.wav", Status.CONFIRMED, taken_at=MAY)
        shelf.put("unconfirmed.wav", Status.HEARD, taken_at=MARCH)
        taken = "taken in on 2031-03-02, more than 30 days ago"
        assert shelf.judge(THIRTY_DAYS) == {
            "old.wav": (True, taken),
            "new.wav": (False, "it is kept until 2031-06-19"),
            "unconfirmed.wav": (True, f"{taken}; 1 entry that rests on it is not confirmed yet"),
        }

    def test_keep_keeps(self, shelf: Shelf) -> None:
        shelf.put("one.wav", Status.CONFIRMED)
        assert shelf.judge(Retention()) == {
            "one.wav": (False, "the setting audio_retention is 'keep'")
        }


@pytest.mark.parametrize("retention", [UNTIL_CONFIRMED, THIRTY_DAYS], ids=format_retention)
class TestNeverBeforeItWasHeard:
    """No rule removes sound that may hold words which nobody has taken down yet."""

    def test_unread_sound_stays(self, shelf: Shelf, retention: Retention) -> None:
        shelf.put("one.wav", Status.CONFIRMED, is_heard=False)
        assert shelf.judge(retention)["one.wav"] == (False, "not all of it has been heard yet")

    def test_a_session_under_way_keeps_what_was_heard_too(
        self, shelf: Shelf, retention: Retention
    ) -> None:
        shelf.put("one.wav", Status.CONFIRMED, session=LIVE)
        goes, why = shelf.judge(retention)["one.wav"]
        assert (goes, why.split(";")[0]) == (False, "its session has not ended")

    def test_one_unread_recording_keeps_its_whole_session(
        self, shelf: Shelf, retention: Retention
    ) -> None:
        """What was said there may be about what was said here."""
        shelf.put("one.wav", Status.CONFIRMED, session=ENDED)
        shelf.put("two.wav", Status.CONFIRMED, session=ENDED, is_heard=False)
        assert not any(goes for goes, _ in shelf.judge(retention).values())

    def test_an_ended_session_is_judged_by_the_rule(
        self, shelf: Shelf, retention: Retention
    ) -> None:
        shelf.put("one.wav", Status.CONFIRMED, session=ENDED)
        assert shelf.judge(retention)["one.wav"][0]


class TestRemoving:
    def remove(self, shelf: Shelf) -> None:
        verdicts = judge_sound(shelf.log, UNTIL_CONFIRMED, now=NOW)
        remove_sound(shelf.log, verdicts, UNTIL_CONFIRMED)

    def test_the_sound_is_gone_and_everything_else_is_there(self, shelf: Shelf) -> None:
        """Nowhere in the log's folder is there a byte of it; notes and entries are as before."""
        shelf.put("one.wav", Status.CONFIRMED)
        shelf.put("two.wav", Status.HEARD)
        notes = list(shelf.log.iter_notes())
        entries = list(shelf.log.iter_entries(include_void=True))
        self.remove(shelf)
        files = sorted(path.name for path in shelf.log.audio_folder.iterdir())
        assert files == ["two.wav"]
        (shelf.log.audio_folder / "two.wav").unlink()
        left = b"".join(path.read_bytes() for path in shelf.log.folder.rglob("*") if path.is_file())
        assert SOUND[:26] not in left
        assert list(shelf.log.iter_notes()) == notes
        assert list(shelf.log.iter_entries(include_void=True)) == entries

    def test_it_stays_on_record_when_and_by_which_rule(self, shelf: Shelf) -> None:
        """The log itself refuses to have it otherwise."""
        shelf.put("one.wav", Status.CONFIRMED)
        self.remove(shelf)
        (recording,) = shelf.log.iter_recordings()
        assert recording.removed_by == "until confirmed"
        assert recording.removed_at is not None
        assert recording.sha256 == "fingerprint of one.wav"
        with (
            sqlite3.connect(shelf.log.folder / "log.sqlite") as other,
            pytest.raises(sqlite3.IntegrityError, match="stays on record"),
        ):
            other.execute("UPDATE recordings SET removed_at = NULL")
        other.close()

    def test_whoever_asks_for_a_clip_is_told(self, shelf: Shelf) -> None:
        shelf.put("one.wav", Status.CONFIRMED)
        assert shelf.log.find_sound("one.wav").read_bytes() == SOUND
        self.remove(shelf)
        with pytest.raises(
            SoundRemoved,
            match=r"sound of one.wav was removed on \d{4}-\d\d-\d\d by the rule 'until confirmed'",
        ):
            shelf.log.find_sound("one.wav")

    def test_done_again_it_does_nothing(self, shelf: Shelf) -> None:
        shelf.put("one.wav", Status.CONFIRMED)
        self.remove(shelf)
        before = list(shelf.log.iter_recordings())
        self.remove(shelf)
        assert list(shelf.log.iter_recordings()) == before

    def test_a_removal_that_was_cut_off_is_completed_by_the_next_writer(self, shelf: Shelf) -> None:
        """On record as removed, but still there: that must not last."""
        shelf.put("one.wav", Status.CONFIRMED)
        folder = shelf.log.folder
        self.remove(shelf)
        (folder / "audio" / "one.wav").write_bytes(SOUND)
        shelf.log.close()
        WritableLog.open_to_write(folder, made_by="voicelog test").close()
        assert not (folder / "audio" / "one.wav").exists()

    def test_a_file_that_somebody_took_away_is_no_removal(self, shelf: Shelf) -> None:
        """It may be found again."""
        shelf.put("one.wav", Status.CONFIRMED)
        (shelf.log.audio_folder / "one.wav").unlink()
        assert shelf.judge(UNTIL_CONFIRMED) == {
            "one.wav": (False, "its file is not in the log's folder")
        }


class TestTheSetting:
    @pytest.mark.parametrize("text", ["keep", "until confirmed", "1 day", "90 days"])
    def test_what_is_written_comes_back(self, text: str) -> None:
        assert format_retention(parse_retention(text)) == text

    @pytest.mark.parametrize("text", ["", "never", "90", "-1 days", "90 days ", "confirmed"])
    def test_anything_else_is_refused(self, text: str) -> None:
        with pytest.raises(ParseError, match="write 'keep', 'until confirmed', or a number"):
            parse_retention(text)


def test_a_log_from_before_there_were_sessions_is_judged_as_well(tmp_path: Path) -> None:
    """Its recordings belong to no session."""
    with WritableLog.open_to_write(tmp_path / "log", made_by="voicelog test") as log:
        Shelf(log).put("one.wav", Status.CONFIRMED)
    with Log.open(tmp_path / "log") as log:
        (verdict,) = judge_sound(log, UNTIL_CONFIRMED, now=NOW)
    assert verdict.goes
    assert verdict.size_bytes == len(SOUND)
