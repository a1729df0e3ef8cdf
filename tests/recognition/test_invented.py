"""What the recogniser made up goes; what was said stays."""

from __future__ import annotations

from voicelog.domain.note import Word
from voicelog.recognition.invented import Evidence, hold_to_speech, keep_spoken
from voicelog.recognition.recogniser import Stretch

SPEECH = (Stretch(start_s=1.0, end_s=3.0),)


def say(text: str, *, start_s: float = 1.0, each_s: float = 0.3) -> tuple[Word, ...]:
    return tuple(
        Word(text=word, start_s=start_s + i * each_s, end_s=start_s + (i + 1) * each_s)
        for i, word in enumerate(text.split())
    )


def keep(
    *words: Word,
    speech: tuple[Stretch, ...] = SPEECH,
    likelihood: float = -0.3,
    no_speech: float = 0.05,
) -> str:
    evidence = Evidence(
        words=words, mean_log_probability=likelihood, no_speech_probability=no_speech
    )
    return " ".join(word.text for word in keep_spoken(evidence, speech=speech))


class TestKeepSpoken:
    def test_what_was_said_stays(self) -> None:
        assert keep(*say("leaf fourteen recto")) == "leaf fourteen recto"

    def test_a_word_far_from_speech_goes(self) -> None:
        assert keep(*say("leaf two"), *say("thank you", start_s=6.0)) == "leaf two"

    def test_a_word_a_little_beside_speech_stays(self) -> None:
        """Word times are good to a few tenths of a second."""
        assert keep(*say("verso", start_s=3.1)) == "verso"

    def test_nothing_stays_where_no_speech_was(self) -> None:
        assert keep(*say("thank you for watching"), speech=()) == ""

    def test_a_reading_the_recogniser_takes_for_silence_goes(self) -> None:
        assert keep(*say("A B C"), likelihood=-1.76, no_speech=0.87) == ""

    def test_a_most_unlikely_reading_goes(self) -> None:
        assert keep(*say("U U U"), likelihood=-1.29, no_speech=0.2) == ""

    def test_an_unlikely_reading_of_certain_speech_stays_for_the_reviewer(self) -> None:
        assert keep(*say("cockled"), likelihood=-1.3, no_speech=0.02) == "cockled"

    def test_a_quiet_voice_that_is_understood_stays(self) -> None:
        assert keep(*say("verso"), likelihood=-0.2, no_speech=0.7) == "verso"


class TestLoops:
    def test_turns_too_fast_to_speak_go(self) -> None:
        """One turn stays; the rest took less time than a mouth needs."""
        looped = say("veg, " * 30, start_s=2.0, each_s=0.02)
        assert keep(*say("leaf two"), *looped) == "leaf two veg,"

    def test_a_phrase_can_loop_too(self) -> None:
        looped = say("one two three " * 8, start_s=2.0, each_s=0.03)
        assert keep(*looped) == "one two three"

    def test_a_number_said_digit_by_digit_stays(self) -> None:
        """Five twos at the pace of speech are a number."""
        assert keep(*say("2 2 2 2 2")) == "2 2 2 2 2"

    def test_three_turns_are_emphasis(self) -> None:
        assert keep(*say("no no no", each_s=0.1)) == "no no no"


class TestHoldToSpeech:
    def test_the_first_word_does_not_begin_in_the_silence_before(self) -> None:
        word = Word(text="leaf", start_s=0.0, end_s=1.4)
        (held,) = hold_to_speech([word], speech=SPEECH)
        assert held.start_s == 0.85
        assert held.end_s == 1.4

    def test_a_word_beside_speech_keeps_its_times(self) -> None:
        word = Word(text="leaf", start_s=3.1, end_s=3.2)
        assert hold_to_speech([word], speech=SPEECH) == (word,)
