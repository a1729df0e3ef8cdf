"""Logs to review, served; and a real browser where one is wanted."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import BrowserContext

from tests.review.desk import Desk
from tests.review.pages.site import Browser, Site, serving
from tests.review.pages.window import LAPTOP, Window, running_chromium, window_on
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.session.recordings import take_recording
from voicelog.session.scribe import Scribe
from voicelog.store.writing import WritableLog
from voicelog.testing import ScriptedRecogniser

DEMO = Path(__file__).parents[3] / "demo_data"


@pytest.fixture
def site(desk: Desk, reader: Reader) -> Iterator[Site]:
    """The green book, typed, being served."""
    with serving(desk.folder, reader) as site:
        yield site


@pytest.fixture
def browser(site: Site) -> Browser:
    return Browser(site, site.enter())


@pytest.fixture(scope="session")
def spoken_log(tmp_path_factory: pytest.TempPathFactory, reader: Reader) -> Path:
    """The demo recordings in a log: their real sound, and the words that are said in them.

    What is tested here is the pages, so the recogniser is the shipped double; its words
    stand evenly spread over each note.
    """
    folder = tmp_path_factory.mktemp("spoken") / "log"
    with WritableLog.open_to_write(folder, made_by="voicelog test", facts={"reading": {}}) as log:
        scribe = Scribe(log, Logbook(reader))
        for recording in tomllib.loads((DEMO / "notes.toml").read_text("utf-8"))["recording"]:
            hearing = Hearing(
                recogniser=ScriptedRecogniser(recording["notes"]),
                segments=SegmentOptions(),
                handler=recording["handler"],
            )
            take_recording(DEMO / "recordings" / recording["file"], scribe, hearing)
    return folder


@pytest.fixture
def spoken_site(spoken_log: Path, tmp_path: Path, reader: Reader) -> Iterator[Site]:
    """A copy of that log, being served."""
    folder = tmp_path / "spoken"
    shutil.copytree(spoken_log, folder)
    with serving(folder, reader) as site:
        yield site


@pytest.fixture(scope="session")
def chromium() -> Iterator[Chromium]:
    with running_chromium() as chromium:
        yield chromium


@pytest.fixture
def context(chromium: Chromium) -> Iterator[BrowserContext]:
    """A browser that nobody has used, as large as a laptop's screen."""
    width, height = LAPTOP
    context = chromium.new_context(viewport={"width": width, "height": height})
    yield context
    context.close()


@pytest.fixture
def window(site: Site, context: BrowserContext) -> Iterator[Window]:
    """A window on the typed green book."""
    with window_on(site, context) as window:
        yield window


@pytest.fixture
def spoken_window(spoken_site: Site, context: BrowserContext) -> Iterator[Window]:
    """A window on the demo recordings."""
    with window_on(spoken_site, context) as window:
        yield window
