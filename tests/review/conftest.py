"""A reader for all tests of a run, and a log that was read with it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.review.desk import Desk
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary


@pytest.fixture(scope="session")
def reader() -> Reader:
    return Reader(load_vocabulary(), ReadingOptions())


@pytest.fixture
def desk(tmp_path: Path, reader: Reader) -> Desk:
    """A log of the green book, as a handler would have said it, and somebody to review it."""
    desk = Desk(tmp_path / "log", reader)
    desk.say(
        "accession 2031-007",
        "volume one, the green book, post binding, black paper",
        "leaf fourteen recto",
        "a postcard, photo corners, yellowed, lifting",
        "caption reads the lamplighters at the weir",
        "a newspaper clipping, cellophane tape, brittle",
        "a ticket, loose",
        "verso",
        "a snapshot, dated June fourth nineteen fifty two",
    )
    return desk
