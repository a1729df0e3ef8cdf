"""An adapted model that the settings name is heard with, by both ears."""

from __future__ import annotations

import pytest

from tests.adapting.conftest import SHIPPED
from voicelog.adapting.making import Adapted
from voicelog.recognition.recogniser import Segment
from voicelog.settings import Settings, read_settings
from voicelog.vocabulary import load_vocabulary
from voicelog.wiring.adapting import settings_to_hear_with
from voicelog.wiring.hearing import JoinedPlan, make_recogniser, plan_recogniser


def settings(**overrides: object) -> Settings:
    return read_settings(environment={}, overrides=overrides)


@pytest.mark.parametrize(
    ("overrides", "changed"),
    [
        ({}, ["model_folder"]),
        ({"engine": "vosk"}, ["model_folder"]),
        ({"engine": "whisper"}, ["model_folder", "engine"]),
    ],
)
def test_what_must_be_set_is_told(
    adapted: Adapted, overrides: dict[str, object], changed: list[str]
) -> None:
    """The folder; the engine only where vosk would not hear at all."""
    assert list(settings_to_hear_with(adapted.folder, settings(**overrides))) == changed


@pytest.mark.parametrize("named", ["the model", "the folder around it"])
def test_where_it_is_set_nothing_is_told(adapted: Adapted, named: str) -> None:
    folder = adapted.folder if named == "the model" else adapted.folder.parent
    assert settings_to_hear_with(adapted.folder, settings(model_folder=str(folder))) == {}


def test_whisper_is_told_the_names_as_people_write_them(adapted: Adapted) -> None:
    """Behind the words of the trade, which no other model changes."""
    plan = plan_recogniser(settings(model_folder=str(adapted.folder)), load_vocabulary())
    assert isinstance(plan, JoinedPlan)
    usual = load_vocabulary().hot_words()
    assert plan.opened.options.hot_words == (*usual, "Quillhaven", "Tarnfoot", "Ellerby")
    plan = plan_recogniser(settings(model_folder=str(SHIPPED)), load_vocabulary())
    assert isinstance(plan, JoinedPlan)
    assert plan.opened.options.hot_words == usual


def test_both_ears_write_the_names(adapted: Adapted, spoken_names: tuple[Segment, ...]) -> None:
    """With the settings as shipped but for the folder."""
    both = make_recogniser(settings(model_folder=str(adapted.folder)), load_vocabulary())
    heard = [both.recognise(segment).text.lower() for segment in spoken_names[:3]]
    for name, text in zip(("tarnfoot", "ellerby", "quillhaven"), heard, strict=True):
        assert name in text
