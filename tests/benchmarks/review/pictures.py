"""Pictures of every screen: ``python -m tests.benchmarks.review.pictures LOG FOLDER``.

LOG is the log that 'voicelog demo' made; it is copied, not touched. Each screen is shown as a
laptop shows it (1366 by 768, light) and as a tablet does (820 by 1180, dark).
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect

from tests.review.pages.site import serving
from tests.review.pages.window import LAPTOP, TABLET, Window, running_chromium, window_on
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

_COLOURS = 128
_ONE = "/work?accession=2031-007&volume=1"
_TWO = "/work?accession=2031-007&volume=2"

Shoot = Callable[[str], None]


def main() -> None:
    """Take all pictures."""
    log, folder = Path(sys.argv[1]), Path(sys.argv[2])
    folder.mkdir(parents=True, exist_ok=True)
    reader = Reader(load_vocabulary(), ReadingOptions())
    with running_chromium() as chromium:
        for (width, height), colours in ((LAPTOP, "light"), (TABLET, "dark")):
            with tempfile.TemporaryDirectory() as temporary:
                copy = Path(shutil.copytree(log, Path(temporary) / "log"))
                context = chromium.new_context(
                    viewport={"width": width, "height": height}, color_scheme=colours
                )
                with serving(copy, reader) as site, window_on(site, context, path=_ONE) as window:
                    _take_all(window, _shoot(window.page, folder, f"{width}x{height}"))


def _shoot(page: Page, folder: Path, size: str) -> Shoot:
    def shoot(name: str) -> None:
        page.wait_for_load_state("networkidle")
        path = folder / f"review_{name}_{size}.png"
        page.screenshot(path=path)
        # A page has few colours: with a palette the picture is a third as large.
        Image.open(path).quantize(_COLOURS).save(path, optimize=True)

    return shoot


def _take_all(window: Window, shoot: Shoot) -> None:
    page = window.page
    shoot("list")
    window.press("d")
    expect(page.locator(".wave")).to_be_visible()
    shoot("doubt")
    window.press("Enter")
    expect(page.locator("#typed")).to_be_focused()
    window.type("po")
    expect(page.locator("[role=option]").first).to_be_visible()
    shoot("edit")
    window.press("Escape", "Escape")
    for key, name in (("s", "split"), ("a", "alike"), ("i", "add"), ("?", "keys")):
        window.press(key)
        expect(page.get_by_role("dialog")).to_be_visible()
        if name == "alike":
            page.locator("#alike-typed").fill("2031-008")
            window.press("Enter")
            expect(page.locator("dialog table")).to_be_visible()
        shoot(name)
        window.press("Escape")
        expect(page.get_by_role("dialog")).to_be_hidden()
    window.press("c")
    expect(page.locator(".row.is-confirmed").first).to_be_visible()
    window.open("/work?order=doubtful")
    shoot("doubtful_first")
    _judge_a_sample(window)
    window.open("/sample")
    shoot("error_rate")
    _learn(window)
    shoot("sounds_like")
    window.open("/redactions")
    page.locator("#words").fill("Willow Lake")
    window.press("Enter")
    expect(page.locator(".found")).to_be_visible()
    shoot("redaction")
    _sign(window)
    shoot("signed")
    window.open("/history")
    shoot("history")


def _judge_a_sample(window: Window) -> None:
    window.open("/sample")
    window.page.locator("#percent").fill("20")
    window.page.get_by_role("button", name="Draw").click()
    expect(window.page.locator("#rate")).to_contain_text("wait to be listened to")
    window.open("/work?order=doubtful")
    for count in range(2, 7):
        window.press("c")
        expect(window.page.locator("#head")).to_contain_text(f"{count} confirmed")


def _learn(window: Window) -> None:
    window.open("/learned")
    window.page.locator("#heard").fill("foxen")
    window.page.locator("#meant").fill("foxing")
    window.page.locator("#field").select_option("condition")
    window.page.get_by_role("button", name="Add").click()
    expect(window.page.locator("#lessons")).to_contain_text("foxen")


def _sign(window: Window) -> None:
    window.open(_TWO)
    window.press("V")
    expect(window.page.locator("#message")).to_contain_text("confirmed")
    rows = window.page.locator(".row:is(.is-heard, .is-queried)")
    while left := rows.count():
        rows.first.locator(".value").first.focus()
        window.press("c")
        expect(rows).to_have_count(left - 1)
    window.page.get_by_role("button", name="Sign off").click()
    expect(window.page.locator("#head")).to_contain_text("signed off by")


if __name__ == "__main__":
    main()
