"""A real browser on the pages: Chromium, with everything watched that it does."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import (
    BrowserContext,
    ConsoleMessage,
    Page,
    Playwright,
    Request,
    expect,
    sync_playwright,
)

from tests.review.pages.site import PATIENCE_S, Site

PATIENCE_MS = PATIENCE_S * 1000
LAPTOP = (1366, 768)
TABLET = (820, 1180)


@dataclass(slots=True)
class Window:
    """One window of the browser on a site.

    Attributes:
        page: the page in it.
        site: the site.
        complaints: what the browser complained about: errors, refused content.
        elsewhere: addresses of other machines that it asked.
        keys: how many keys were pressed.
    """

    page: Page
    site: Site
    complaints: list[str] = field(default_factory=list)
    elsewhere: list[str] = field(default_factory=list)
    keys: int = 0

    def open(self, path: str) -> None:
        """Open a page; its scripts have run when this returns."""
        self.page.goto(self.site.origin + path)

    def press(self, *keys: str) -> None:
        """Press keys, one after the other, as a person does."""
        for key in keys:
            self.keys += 1
            self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        self.keys += len(text)
        self.page.keyboard.type(text)

    def row(self, text: str):  # type: ignore[no-untyped-def]
        """Return the row that shows a text."""
        return self.page.locator(".row", has_text=text).first

    @property
    def focused(self) -> str:
        """What has the focus, as text."""
        text: str = self.page.evaluate("document.activeElement.innerText")
        return " ".join(text.split())

    @property
    def message(self) -> str:
        return self.page.locator("#message").inner_text().strip()


def find_chromium() -> str:
    """Return where Chromium is; says so where it is missing, and fails under CI."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        reason = "Chromium is not installed; 'apt-get install chromium' brings it."
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return found


@contextmanager
def running_chromium() -> Iterator[Chromium]:
    with sync_playwright() as playwright:
        yield from _launch(playwright)


def _launch(playwright: Playwright) -> Iterator[Chromium]:
    chromium = playwright.chromium.launch(
        executable_path=find_chromium(),
        args=[
            "--disable-background-networking",
            "--disable-component-update",
            "--no-first-run",
            # A key press allows sound; the presses of a script don't count as one everywhere.
            "--autoplay-policy=no-user-gesture-required",
        ],
        timeout=PATIENCE_MS,
    )
    yield chromium
    chromium.close()


@contextmanager
def window_on(
    site: Site, context: BrowserContext, *, path: str = "/work", enters: bool = True
) -> Iterator[Window]:
    """Open a window on a site, and at the end make sure that nothing was wrong in it."""
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    expect.set_options(timeout=PATIENCE_MS)
    window = Window(page, site)
    page.on("console", lambda message: _note(window, message))
    page.on("pageerror", lambda error: window.complaints.append(str(error)))
    page.on("request", lambda request: _note_request(window, request))
    if enters:
        page.goto(site.gate.address)
    window.open(path)
    yield window
    page.close()
    assert not window.elsewhere, window.elsewhere
    assert not window.complaints, window.complaints


def _note(window: Window, message: ConsoleMessage) -> None:
    if message.type in {"error", "warning"}:
        window.complaints.append(message.text)


def _note_request(window: Window, request: Request) -> None:
    if not request.url.startswith((window.site.origin, "data:", "blob:")):
        window.elsewhere.append(request.url)
