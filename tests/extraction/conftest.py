"""One reader for the whole folder: building it takes a moment, and it keeps no state."""

from __future__ import annotations

import pytest

from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary


@pytest.fixture(scope="session")
def reader() -> Reader:
    """Return a reader with the default options."""
    return Reader(load_vocabulary(), ReadingOptions())
