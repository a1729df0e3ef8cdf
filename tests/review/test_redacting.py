"""Redaction: no byte of the words or their sound is left, and the log reads as before."""

from __future__ import annotations

import hashlib
import io
import sqlite3
import wave
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import av
import numpy as np
import pytest

from tests.review.desk import MADE_BY, Desk
from voicelog.domain.entry import Status
from voicelog.domain.lesson import Lesson
from voicelog.domain.note import Word
from voicelog.domain.redaction import RedactedStretch
from voicelog.domain.utterance import Utterance
from voicelog.errors import NothingToUndo, ReviewError, StoreError
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.recognition.silencing import silence
from voicelog.session.scribe import Scribe
from voicelog.store.acceptance import Acceptance
from voicelog.store.connection import connect_to_write
from voicelog.store.log import Log
from voicelog.store.recording import Recording
from voicelog.store.writing import WritableLog

RATE_HZ = 16_000
NAME = "Wilhelmina Crabtree"
SAID = (
    "accession 2031-007",
    "volume one, the green book",
    "leaf fourteen recto",
    "a postcard, caption reads to Wilhelmina Crabtree from the weir, end caption",
    "a letter, dated June fourth nineteen fifty two",
    "remark, Wilhelmina Crabtree was ill that year",
    "a ticket, loose",
    "the letter is torn",
)


def write_sound(path: Path, samples: np.ndarray, *, codec: str) -> None:
    """Write mono sound at 16 kHz, 16 bit."""
    with av.open(str(path), "w") as file:
        track = file.add_stream(codec, rate=RATE_HZ)
        track.layout = "mono"
        frame = av.AudioFrame.from_ndarray(samples.reshape(1, -1), "s16", "mono")
        frame.sample_rate = RATE_HZ
        file.mux(track.encode(frame))
        file.mux(track.encode(None))


def read_sound(path: Path) -> np.ndarray:
    with av.open(str(path)) as file:
        return np.concatenate([frame.to_ndarray().ravel() for frame in file.decode(audio=0)])


def noise(seconds: float) -> np.ndarray:
    return np.random.default_rng(7).integers(-9000, 9000, int(seconds * RATE_HZ), dtype=np.int16)


def spoken_words(text: str, start_s: float) -> tuple[Word, ...]:
    """Half a second for each word, one after the other."""
    return tuple(
        Word(text=word, start_s=start_s + nth / 2, end_s=start_s + nth / 2 + 0.4, confidence=0.9)
        for nth, word in enumerate(text.split())
    )


def make_spoken_desk(folder: Path, reader: Reader, *, kind: str) -> Desk:
    """A log of one recording, ten seconds for each note."""
    desk = Desk(folder, reader)
    codec = {"wav": "pcm_s16le", "flac": "flac", "mp3": "mp3"}[kind]
    with WritableLog.open_to_write(folder, made_by=MADE_BY) as log:
        path = log.audio_folder / f"day.{kind}"
        write_sound(path, noise(10 * len(SAID)), codec=codec)
        content = path.read_bytes()
        log.add_recording(
            Recording(
                file=path.name,
                uid="r-1",
                original_name=path.name,
                sha256=hashlib.sha256(content).hexdigest(),
                size_bytes=len(content),
                taken_at="2031-03-02T09:15:00+00:00",
            )
        )
        scribe = Scribe(log, Logbook(reader), new_uid=desk._new_uid)
        scribe.catch_up(reason="begun")
        for nth, text in enumerate(SAID):
            scribe.take_down(
                Utterance(
                    text=text,
                    words=spoken_words(text, 10.0 * nth),
                    engine="whisper",
                    recording=path.name,
                    start_s=10.0 * nth,
                    end_s=10.0 * nth + 9,
                    alternatives=(text.replace("Crabtree", "crab tree"), text.upper()),
                )
            )
    return desk


@pytest.fixture
def spoken_desk(tmp_path: Path, reader: Reader) -> Desk:
    return make_spoken_desk(tmp_path / "log", reader, kind="wav")


def find_bytes(folder: Path, words: Sequence[str]) -> list[tuple[str, str]]:
    """Return the files in which a word stands, in any case, in UTF-8 or UTF-16."""
    found = []
    for path in sorted(one for one in folder.rglob("*") if one.is_file()):
        content = path.read_bytes().lower()
        found += [
            (path.name, word)
            for word in words
            for encoding in ("utf-8", "utf-16-le")
            if word.lower().encode(encoding) in content
        ]
    return found


WORDS = ("Wilhelmina", "Crabtree", "crab tree")


def redact_all(desk: Desk) -> None:
    desk.reviewer.redacting.redact(desk.reviewer.redacting.find(NAME), reason="a living person")


def test_no_byte_of_the_words_is_left_in_the_folder(spoken_desk: Desk) -> None:
    """Notes, words, other readings, entries, history, acts, what was learnt, free pages."""
    desk = spoken_desk
    postcard = desk.see("postcard")
    desk.reviewer.set_value(postcard, "caption", "To Wilhelmina Crabtree, from the Weir")
    desk.reviewer.set_value(desk.see("postcard"), "caption", "To wilhelmina crabtree")
    desk.reviewer.undo()
    desk.reviewer.learning.learn(Lesson(heard="crab trees", meant="Crabtree", field="caption"))
    desk.reviewer.add("a menu, caption reads for Wilhelmina Crabtree", beside=postcard.entry)
    desk.reviewer.confirm([desk.see("postcard")])
    with WritableLog.open_to_write(desk.folder, made_by=MADE_BY) as log:
        log.add_acceptances(
            [
                Acceptance(
                    finding="f-1",
                    code="x",
                    message="The postcard to Wilhelmina Crabtree has no image.",
                    reason="Wilhelmina Crabtree keeps it",
                    by="Ida Marsh",
                    at="2031-03-02T09:15:00+00:00",
                )
            ]
        )
    assert find_bytes(desk.folder, WORDS)
    redact_all(desk)
    assert find_bytes(desk.folder, WORDS) == []
    assert desk.the("menu").entry.caption == "for ██████████ ████████"
    assert desk.the("postcard").entry.caption == "To ██████████ ████████, from the Weir"
    assert desk.the("postcard").entry.status is Status.CONFIRMED
    assert desk.reread().changes == ()


def test_the_index_of_words_forgets_them(spoken_desk: Desk) -> None:
    """Also shortened, as it keeps them; what stands beside them is still found."""
    desk = spoken_desk

    def indexed() -> set[str]:
        with closing(sqlite3.connect(desk.folder / "log.sqlite")) as database:
            database.execute(
                "CREATE VIRTUAL TABLE temp.terms USING fts5vocab (main, wordings_fts, row)"
            )
            return {term for (term,) in database.execute("SELECT term FROM terms")}

    assert {"wilhelmina", "crabtre"} <= indexed()
    redact_all(desk)
    assert not [term for term in indexed() if term.startswith(("wilh", "crab"))]
    with Log.open(desk.folder) as log:
        assert [entry.item_type for _, entry in log.iter_worded("weir")] == [("postcard",)]
        assert list(log.iter_worded("Crabtree")) == []


def test_what_was_typed_into_another_entry_goes_as_well(spoken_desk: Desk) -> None:
    """Also where it was typed over again; only notes that nobody named keep their words."""
    desk = spoken_desk
    desk.reviewer.set_value(desk.see("ticket"), "caption", "Wilhelmina Crabtree's")
    desk.reviewer.set_value(desk.see("ticket"), "caption", "admit one")
    redact_all(desk)
    assert find_bytes(desk.folder, WORDS) == []
    assert desk.reread().changes == ()
    assert [line.before for line in desk.reviewer.history(desk.the("ticket").entry.id)] == [
        "██████████ ████████'s", None,
    ]  # fmt: skip


def test_the_log_reads_as_before_less_the_words(spoken_desk: Desk) -> None:
    """A replay of what is left gives the same entries; nothing but the words is missing."""
    desk = spoken_desk
    before = {entry.id: entry for entry in desk.entries(include_void=True)}
    redact_all(desk)
    after = {entry.id: entry for entry in desk.entries(include_void=True)}
    assert before.keys() == after.keys()
    for id_, entry in after.items():
        for name in ("leaf", "side", "item", "item_type", "condition", "date", "status"):
            assert getattr(entry, name) == getattr(before[id_], name)
    assert desk.the("postcard").entry.caption == "to ██████████ ████████ from the weir"
    assert desk.the("letter").entry.remark == "██████████ ████████ was ill that year"
    assert desk.reread().changes == ()
    desk.say("yellowed")
    assert desk.reread().changes == ()
    assert find_bytes(desk.folder, WORDS) == []


def test_words_that_made_an_item_leave_the_item(spoken_desk: Desk) -> None:
    """No object is lost from the log, and no id goes to another one."""
    desk = spoken_desk
    before = {entry.id: entry.item_type for entry in desk.entries()}
    (stretch,) = desk.reviewer.redacting.find("a letter, dated June fourth nineteen fifty two")
    desk.reviewer.redacting.redact([stretch], reason="a date of birth")
    assert {entry.id: entry.item_type for entry in desk.entries()} == before
    (letter,) = (entry for entry in desk.entries() if "letter" in entry.item_type)
    assert (letter.date, letter.condition) == (None, ("tear",))
    assert desk.reread().changes == ()
    assert find_bytes(desk.folder, ["1952-06-04", "nineteen fifty two"]) == []


@pytest.mark.parametrize("kind", ["wav", "flac"])
def test_the_sound_of_the_words_is_silence_and_the_rest_is_untouched(
    tmp_path: Path, reader: Reader, kind: str
) -> None:
    """Sample by sample; the recording is still known by the bytes it came with."""
    desk = make_spoken_desk(tmp_path / "log", reader, kind=kind)
    path = desk.folder / "audio" / f"day.{kind}"
    before, old_sha256 = read_sound(path), hashlib.sha256(path.read_bytes()).hexdigest()
    redact_all(desk)
    after = read_sound(path)
    silent = np.zeros(len(before), dtype=bool)
    for start_s, end_s in ((32.35, 33.55), (50.35, 51.55)):
        # "to Wilhelmina Crabtree": the fifth and sixth words of the note at 30 s.
        silent[int(start_s * RATE_HZ) : int(np.ceil(end_s * RATE_HZ))] = True
    assert len(after) == len(before)
    assert not after[silent].any()
    assert np.array_equal(after[~silent], before[~silent])
    with Log.open(desk.folder) as log:
        (recording,) = log.iter_recordings()
        assert recording.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
        assert log.find_recording(old_sha256) == recording


def test_a_recording_that_can_not_be_silenced_in_part_is_refused_whole(
    tmp_path: Path, reader: Reader
) -> None:
    """Before anything was changed, with what to do instead."""
    desk = make_spoken_desk(tmp_path / "log", reader, kind="mp3")
    with pytest.raises(ReviewError, match="Only WAV and FLAC recordings can be silenced in part"):
        redact_all(desk)
    assert desk.reviewer.redacting.redactions() == ()
    assert len(desk.reviewer.redacting.find(NAME)) == 2


def test_what_was_done_is_on_record_without_the_words(spoken_desk: Desk) -> None:
    """Where, who, when, why; it can't be undone."""
    desk = spoken_desk
    stretch = desk.reviewer.redacting.find("crabtree")[0]
    done = desk.reviewer.redacting.redact([stretch], reason="Crabtree is alive")
    assert done.remarks == ("Words like these stand in note 6 too; look there.",)
    (one,) = desk.reviewer.redacting.redactions()
    assert (one.by, one.reason, one.is_done) == ("Ida Marsh", "████████ is alive", True)
    assert (one.stretch.note, one.stretch.text) == (4, "")
    with pytest.raises(NothingToUndo, match="nothing in this session"):
        desk.reviewer.undo()


@pytest.mark.parametrize(
    ("stretches", "reason", "why"),
    [
        ((), "because", "Name the words"),
        ((RedactedStretch(note=4, first=0, last=4),), " ", "Say why"),
        ((RedactedStretch(note=99, first=0, last=4),), "because", "no note 99"),
    ],
)
def test_what_makes_no_sense_is_refused(
    spoken_desk: Desk, stretches: tuple[RedactedStretch, ...], reason: str, why: str
) -> None:
    """With a sentence, and nothing changed."""
    with pytest.raises(ReviewError, match=why):
        spoken_desk.reviewer.redacting.redact(stretches, reason=reason)


def test_evidence_stays_protected_when_nothing_is_being_redacted(spoken_desk: Desk) -> None:
    """Before and after a redaction the file refuses changes, by whatever program."""
    redact_all(spoken_desk)
    database = connect_to_write(spoken_desk.folder / "log.sqlite")
    for change in (
        "UPDATE notes SET text = 'x'",
        "UPDATE words SET text = 'x'",
        "UPDATE revisions SET after = '1'",
        "UPDATE acts SET kind = 'set'",
        "DELETE FROM redactions",
    ):
        with pytest.raises(Exception, match=r"is never changed|only ever added|stays on record"):
            database.execute(change)
    database.close()


def test_a_redaction_that_was_cut_off_is_finished(
    spoken_desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The order is on the disk first; killed behind it, the next one completes it."""
    desk = spoken_desk

    def fail(*_: object) -> None:
        raise StoreError("killed")

    with monkeypatch.context() as patch:
        patch.setattr("voicelog.review.redacting._silence_recordings", fail)
        with pytest.raises(StoreError, match="killed"):
            redact_all(desk)
    assert find_bytes(desk.folder, WORDS)
    assert [one.is_done for one in desk.reviewer.redacting.redactions()] == [False, False]
    assert desk.reviewer.redacting.finish() is not None
    assert find_bytes(desk.folder, WORDS) == []
    assert desk.reviewer.redacting.finish() is None


def test_eight_bit_sound_is_silenced_to_its_middle(tmp_path: Path) -> None:
    """Unsigned samples are silent at 128."""
    path = tmp_path / "old.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(8000)
        file.writeframes(bytes(range(1, 251)) * 64)
    silence(path, [(1.0, 1.5)])
    with wave.open(io.BytesIO(path.read_bytes())) as file:
        samples = file.readframes(16_000)
    assert set(samples[8000:12000]) == {128}
    assert samples[:8000] == (bytes(range(1, 251)) * 64)[:8000]
