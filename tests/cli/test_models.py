"""models: what is there, what is used, and what can't be fetched."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Voicelog
from voicelog.errors import ModelMissing
from voicelog.recognition.models import InstalledModel
from voicelog.settings import Settings, read_settings
from voicelog.wiring.hearing import choose_models, tell_missing_ear


def model(
    name: str, *, engine: str = "vosk", size: int = 1, full_size: bool = False
) -> InstalledModel:
    return InstalledModel(
        name=name, engine=engine, folder=Path("/m") / name, size_bytes=size, full_size=full_size
    )


EMBEDDED = model("tiny.en", engine="whisper", size=75)
SMALL = model("small", size=40)
LARGE = model("large", size=1800, full_size=True)


def settings(**overrides: object) -> Settings:
    return read_settings(environment={}, overrides=overrides)


@pytest.mark.parametrize(
    ("found", "overrides", "expected"),
    [
        ([EMBEDDED, SMALL, LARGE], {}, "tiny.en small"),
        ([EMBEDDED, SMALL, LARGE], {"engine": "both"}, "tiny.en small"),
        ([EMBEDDED, SMALL, model("trial", size=8)], {}, "tiny.en small"),
        ([EMBEDDED], {}, "tiny.en"),
        ([SMALL], {}, "small"),
        ([EMBEDDED, LARGE], {}, "tiny.en"),
        ([EMBEDDED, SMALL, LARGE], {"model_folder": "/m/large"}, "tiny.en large"),
        ([EMBEDDED, SMALL, LARGE], {"prefer_published_model": True}, "large"),
        ([EMBEDDED, SMALL], {"prefer_published_model": True}, "tiny.en small"),
        ([EMBEDDED, SMALL, LARGE], {"engine": "vosk"}, "large"),
        ([EMBEDDED, SMALL], {"engine": "vosk"}, "small"),
        ([EMBEDDED, SMALL, LARGE], {"engine": "vosk", "model_folder": "/m/small"}, "small"),
        (
            [EMBEDDED, SMALL, LARGE],
            {"engine": "whisper", "prefer_published_model": True},
            "tiny.en",
        ),
        (
            [EMBEDDED, model("own", engine="whisper")],
            {"engine": "whisper", "model_folder": "/m/own"},
            "own",
        ),
        ([EMBEDDED, model("stray", engine="whisper", size=900)], {"engine": "whisper"}, "tiny.en"),
    ],
)
def test_the_models_are_those_the_settings_ask_for(
    monkeypatch: pytest.MonkeyPatch,
    found: list[InstalledModel],
    overrides: dict[str, object],
    expected: str,
) -> None:
    """A model is used because somebody asked for it, never because it lies about."""
    monkeypatch.setattr("voicelog.wiring.hearing.installed_models", lambda _settings: tuple(found))
    chosen = choose_models(settings(**overrides))
    assert " ".join(model.name for model in chosen) == expected


@pytest.mark.parametrize(
    ("found", "overrides", "sentences"),
    [
        ([EMBEDDED, SMALL], {}, []),
        ([EMBEDDED], {}, ["No vosk model is on this machine, so whisper hears alone"]),
        ([SMALL], {"engine": "both"}, ["No whisper model is on this machine, so vosk hears alone"]),
        ([EMBEDDED], {"engine": "whisper"}, []),
        ([EMBEDDED, LARGE], {"prefer_published_model": True}, []),
    ],
)
def test_where_one_of_two_ears_is_missing_that_is_said(
    monkeypatch: pytest.MonkeyPatch,
    found: list[InstalledModel],
    overrides: dict[str, object],
    sentences: list[str],
) -> None:
    """Once, when the recogniser is loaded; the other one works on."""
    monkeypatch.setattr("voicelog.wiring.hearing.installed_models", lambda _settings: tuple(found))
    told = tell_missing_ear(settings(**overrides))
    assert [sentence.split(";")[0] for sentence in told] == sentences


def test_a_missing_engine_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """And it says where to look."""
    monkeypatch.setattr("voicelog.wiring.hearing.installed_models", lambda _settings: (EMBEDDED,))
    with pytest.raises(ModelMissing, match="No vosk model is on this machine; 'voicelog models'"):
        choose_models(settings(engine="vosk"))


def test_the_list_marks_what_is_used(voicelog: Voicelog, monkeypatch: pytest.MonkeyPatch) -> None:
    """The embedded model is there, and an English vosk model ships with voicelog."""
    result = voicelog("models", columns=120)
    assert result.status == 0
    assert "→ tiny.en" in result.out
    assert "→ vosk-bench " in result.out
    monkeypatch.setenv("VOICELOG_ENGINE", "vosk")
    result = voicelog("models", "list", columns=120)
    assert "  tiny.en" in result.out
    [used] = [line for line in result.out.splitlines() if line.startswith("→")]
    assert "vosk" in used


def test_a_name_that_is_to_be_typed_stands_whole(voicelog: Voicelog) -> None:
    """On a terminal of 80 columns too; what it is about is folded."""
    result = voicelog("models", columns=80)
    assert "  vosk-model-en-us-0.42-gigaspeech  vosk" in result.out


def test_an_unknown_model_is_wrong_usage(voicelog: Voicelog) -> None:
    """The sentence lists what can be fetched; nothing is asked of the network."""
    result = voicelog("models", "fetch", "everything")
    assert result.status == 2
    assert "choose from vosk-model-small-en-us-0.15" in result.err
