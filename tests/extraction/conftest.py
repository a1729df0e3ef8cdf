"""One reader for the whole folder: building it takes a moment, and it keeps no state."""

from __future__ import annotations

import pytest
from hypothesis import settings

from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

# A busy machine is no failing example.
settings.register_profile("without deadline", deadline=None)
settings.load_profile("without deadline")


@pytest.fixture(scope="session")
def reader() -> Reader:
    """Return a reader with the default options."""
    return Reader(load_vocabulary(), ReadingOptions())
