"""The real engines, loaded once, and a guard that lets nothing reach the network."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.models import find_models, model_folders
from voicelog.recognition.recogniser import Segment
from voicelog.recognition.segments import iter_segments

from .recordings import SPOKEN_NOTES

HOT_WORDS = (
    *("accession", "volume", "leaf", "recto", "verso", "flyleaf", "caption reads", "remark"),
    *("tintype", "clipping", "postcard", "photo corners", "cellophane tape", "foxing"),
)


@pytest.fixture(scope="session")
def whisper() -> WhisperRecogniser:
    return WhisperRecogniser(WhisperOptions(hot_words=HOT_WORDS))


@pytest.fixture(scope="session")
def vosk_folder() -> Path:
    models = {model.name: model for model in find_models(model_folders())}
    return models["vosk-bench-trial"].folder


@pytest.fixture(scope="session")
def vosk(vosk_folder: Path) -> VoskRecogniser:
    return VoskRecogniser(VoskOptions(model_folder=vosk_folder))


@pytest.fixture(scope="session")
def spoken_segments() -> tuple[Segment, ...]:
    return tuple(iter_segments(SPOKEN_NOTES))


@pytest.fixture
def no_network(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Any]]:
    """Refuses every connection and name look-up, and lists what was tried."""
    tried: list[Any] = []

    def refuse(*arguments: Any, **_: Any) -> None:
        tried.append(arguments)
        raise OSError("no network in this test")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    yield tried
    assert tried == []
