"""What is said aloud, by which voice, and when."""

from __future__ import annotations

import io
import threading
import time
import wave
from pathlib import Path

import numpy as np
import pytest

from tests.session.live.bench import WrittenVoice, laid_table
from voicelog.session.live import voices
from voicelog.session.live.loudspeaker import Loudspeaker, PlayingFailed, Speaking
from voicelog.session.live.own_voice import OwnVoice
from voicelog.session.live.sounds import Sound
from voicelog.session.live.tones import Tone
from voicelog.session.live.voices import EspeakVoice, find_voice

LOOSE = (
    "accession 2031-007",
    "leaf fourteen recto",
    "a postcard",
    "a ticket came off, goes in envelope seven",
    "read that back",
)


class TestWhatIsSaid:
    def test_the_mark_to_write_is_said_when_something_comes_loose(self, tmp_path: Path) -> None:
        """With the enclosure in the same breath; and an entry is read back when asked for."""
        with laid_table(tmp_path / "log", *LOOSE) as table:
            table.voice = WrittenVoice()
            table.say(*LOOSE)
            table.run()
        assert table.voice.said == [
            "write: fourteen recto, two; envelope seven",
            "fourteen recto, two: ticket, loose, detached, enclosed, envelope seven",
        ]
        assert table.recorded.tones[-1] == "command done"

    def test_an_enclosure_named_later_is_said_with_the_mark(self, tmp_path: Path) -> None:
        """The mark itself stays what it was."""
        said = (*LOOSE[:2], "a ticket came off", "goes in envelope seven")
        with laid_table(tmp_path / "log", *said) as table:
            table.voice = WrittenVoice()
            table.say(*said)
            table.run()
        assert table.voice.said == [
            "write: fourteen recto, one",
            "write: fourteen recto, one; envelope seven",
        ]

    def test_without_an_accession_number_there_is_no_mark(self, tmp_path: Path) -> None:
        """The handler is told so while the thing is in the hand."""
        said = ("leaf fourteen recto", "a ticket came off")
        with laid_table(tmp_path / "log", *said) as table:
            table.voice = WrittenVoice()
            table.say(*said)
            table.run()
        assert table.voice.said == ["there is no mark without the accession number"]
        assert "without the accession number" in table.recorded.sentences[0]

    def test_without_a_voice_the_log_goes_on(self, tmp_path: Path) -> None:
        """There is the screen."""
        with laid_table(tmp_path / "log", *LOOSE) as table:
            table.say(*LOOSE)
            outcome = table.run()
        assert outcome.notes == 5


class _Player:
    def __init__(self) -> None:
        self.played: list[Sound] = []
        self.failure: PlayingFailed | None = None

    def play(self, sound: Sound) -> None:
        if self.failure is not None:
            raise self.failure
        self.played.append(sound)


class TestLoudspeaker:
    def test_a_sentence_waits_until_the_handler_is_silent(self) -> None:
        """A tone doesn't: it is short, and means the note just said."""
        player, is_speaking = _Player(), threading.Event()
        is_speaking.set()
        loudspeaker = Loudspeaker(
            Speaking(player=player, voice=WrittenVoice()),
            own_voice=OwnVoice(),
            is_handler_speaking=is_speaking.is_set,
        )
        loudspeaker.start()
        loudspeaker.sound(Tone.TAKEN_DOWN)
        loudspeaker.say("write: fourteen recto, two")
        time.sleep(0.4)
        assert len(player.played) == 1
        is_speaking.clear()
        loudspeaker.finish()
        loudspeaker.join(timeout=60)
        assert len(player.played) == 2

    def test_what_cannot_be_played_is_told_once(self) -> None:
        """And stops nothing."""
        player, told = _Player(), []
        player.failure = PlayingFailed("Tones and voice are silent.")
        loudspeaker = Loudspeaker(
            Speaking(player=player),
            own_voice=OwnVoice(),
            is_handler_speaking=lambda: False,
            on_failure=told.append,
        )
        loudspeaker.start()
        for _ in range(3):
            loudspeaker.sound(Tone.TAKEN_DOWN)
        loudspeaker.finish()
        loudspeaker.join(timeout=60)
        assert told == ["Tones and voice are silent."]

    def test_volume_zero_is_no_tone_at_all(self) -> None:
        """The sound card isn't even asked."""
        player = _Player()
        loudspeaker = Loudspeaker(
            Speaking(player=player, tone_volume=0),
            own_voice=OwnVoice(),
            is_handler_speaking=lambda: False,
        )
        loudspeaker.start()
        loudspeaker.sound(Tone.TROUBLE)
        loudspeaker.finish()
        loudspeaker.join(timeout=60)
        assert player.played == []


class TestEspeak:
    def make_program(self, folder: Path, *, answer: bytes, status: int = 0) -> str:
        """Return a program that answers like espeak-ng, with a sound of our own."""
        (folder / "answer.wav").write_bytes(answer)
        program = folder / "espeak-ng"
        program.write_text(
            f"#!/bin/sh\ncat > {folder}/asked\ncat {folder}/answer.wav\nexit {status}\n"
        )
        program.chmod(0o700)
        return str(program)

    def wav(self) -> bytes:
        content = io.BytesIO()
        with wave.open(content, "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(22_050)
            file.writeframes(np.full(2205, 16_384, dtype="<i2").tobytes())
        return content.getvalue()

    def test_its_sound_is_read_and_the_sentence_is_no_option(self, tmp_path: Path) -> None:
        """The text goes in by standard input."""
        voice = EspeakVoice(self.make_program(tmp_path, answer=self.wav()))
        sound = voice.speak("--help fourteen recto")
        assert sound is not None
        assert sound.sample_rate_hz == 22_050
        assert sound.samples == pytest.approx(0.5)
        assert (tmp_path / "asked").read_text() == "--help fourteen recto"

    @pytest.mark.parametrize(("answer", "status"), [(b"", 0), (b"no sound", 0), (b"", 1)])
    def test_a_program_that_fails_is_no_voice(
        self, tmp_path: Path, answer: bytes, status: int
    ) -> None:
        """It says nothing, and nobody is disturbed."""
        voice = EspeakVoice(self.make_program(tmp_path, answer=answer, status=status))
        assert voice.speak("fourteen recto") is None


def test_the_voice_is_the_best_that_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """hibari-tts, else espeak-ng, else none."""
    monkeypatch.setattr(voices.importlib.util, "find_spec", lambda _name: None)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert find_voice() is None
    (tmp_path / "espeak-ng").write_text("#!/bin/sh\n")
    (tmp_path / "espeak-ng").chmod(0o700)
    voice = find_voice()
    assert voice is not None
    assert voice.name == "espeak-ng"
    monkeypatch.setattr(voices.importlib.util, "find_spec", lambda _name: object())
    voice = find_voice()
    assert voice is not None
    assert voice.name == "hibari"
