"""From a reviewed day to the next: what was put right is told to the recogniser, and read."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tests.benchmarks.hearing.cache import Cell, HeardClip
from tests.benchmarks.hearing.clips import Clip, Session
from tests.benchmarks.hearing.second_day import judge, review, spend_a_day, terms_of
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.recognition.recogniser import Heard
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.vocabulary import load_vocabulary
from voicelog.wiring.reading import KEPT_WITH_THE_LOG, make_reader

CELL = Cell(set_name="tuning", voice="nobody", condition="clean", engine="scripted", biasing="none")
SAID = ("leaf 3, a drawing, faded", "next leaf, a menu, gummed tape", "leaf 9, a postcard")
HEARD = ("leaf 3, a drying, faded", "next leaf, a menu, gondtape", "leaf 9, a postcard")


def heard_as(text: str) -> HeardClip:
    heard = Heard(text=text)
    return HeardClip(
        cell=CELL, clip=text, model="", heard=heard, seconds=1.0, took_s=0.0, cpu_s=0.0
    )


def make_clips(texts: tuple[str, ...]) -> tuple[Clip, ...]:
    return tuple(
        Clip(name=text, said=text, sound=lambda: np.zeros(1, dtype=np.float32)) for text in texts
    )


def test_what_one_day_put_right_is_right_on_the_next(tmp_path: Path) -> None:
    """Two of three notes are misheard; the reviewer keeps what the corrections offer."""
    vocabulary = load_vocabulary()
    plain = Reader(vocabulary, ReadingOptions())
    spend_a_day(tmp_path / "log", map(heard_as, HEARD), plain)
    corrected = review(tmp_path / "log", Session(name="one", clips=make_clips(SAID)), plain)
    assert corrected == {("item_type", "drawing"), ("attachment", "paper tape")}

    settings = read_settings()
    with Log.open(tmp_path / "log") as log:
        lessons = [(one.heard, one.meant) for one in log.iter_lessons()]
        kept = {name: getattr(settings, name) for name in KEPT_WITH_THE_LOG}
        wiser = make_reader(vocabulary, settings, kept, log)
    assert ("drying", "drawing") in lessons
    assert ("gondtape", "gummed tape") in lessons
    assert {"drawing", "gummed tape"} <= set(wiser.vocabulary.hot_words()[:3])

    said, heard = "leaf 20, a drawing, gummed tape, torn", "leaf 20, a drying, gondtape, torn"
    assert ("item_type", "drawing") not in terms_of(heard, plain, number=10)
    before, after = (
        judge(make_clips((said,)), {said: heard_as(heard)}, reader, corrected)
        for reader in (plain, wiser)
    )
    assert (before.corrected.count, before.corrected.of) == (2, 2)
    assert (after.corrected.count, after.corrected.of) == (0, 2)
    assert (after.others.count, after.invented.count) == (0, 0)
