"""A joiner as voicelog makes it, and readings written down as plain text."""

from __future__ import annotations

import pytest

from voicelog.domain.note import Word
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.hearing.joining import Joiner
from voicelog.hearing.sounds import SoundDistance
from voicelog.hearing.weights import load_weights
from voicelog.recognition.recogniser import Heard, make_heard
from voicelog.vocabulary import load_vocabulary


@pytest.fixture(scope="session")
def reader() -> Reader:
    return Reader(load_vocabulary(), ReadingOptions())


@pytest.fixture(scope="session")
def joiner(reader: Reader) -> Joiner:
    return Joiner(reader, load_weights())


@pytest.fixture(scope="session")
def sounds() -> SoundDistance:
    return SoundDistance()


def words_of(text: str, *, confidence: float = 0.9) -> tuple[Word, ...]:
    """Return a reading whose words all take half a second."""
    return tuple(
        Word(text=word, start_s=at / 2, end_s=at / 2 + 0.5, confidence=confidence)
        for at, word in enumerate(text.split())
    )


def untimed(text: str, *, confidence: float = 0.9) -> tuple[Word, ...]:
    """Return a reading whose words have no times."""
    return tuple(Word(text=word, confidence=confidence) for word in text.split())


def heard(text: str, *, confidence: float = 0.9) -> Heard:
    """Return a reading of a note."""
    return make_heard(untimed(text, confidence=confidence))
