"""Nothing that axe-core calls serious, on any page, by day and by night, wide and narrow.

axe-core is Deque Systems' engine for the Web Content Accessibility Guidelines, as the
package axe-playwright-python brings it; its rules of WCAG 2.0 to 2.2, levels A and AA.
"""

from __future__ import annotations

import json
from importlib import resources
from typing import Any, Literal

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import expect

from tests.review.pages.site import Site
from tests.review.pages.window import LAPTOP, TABLET, Window, window_on

_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_GRAVE = {"serious", "critical"}


def find_faults(window: Window) -> list[str]:
    """Return what axe-core finds serious or critical on the page as it is now."""
    # By the driver, not by a script element: the pages' own policy would refuse that.
    window.page.evaluate((resources.files("axe_playwright_python") / "axe.min.js").read_text())
    options = {"runOnly": {"type": "tag", "values": _RULES}, "resultTypes": ["violations"]}
    found: dict[str, Any] = window.page.evaluate(f"axe.run(document, {json.dumps(options)})")
    assert found["passes"], "axe-core looked at nothing"
    return [
        f"{fault['id']}: {fault['help']}: {[node['html'][:160] for node in fault['nodes'][:3]]}"
        for fault in found["violations"]
        if fault["impact"] in _GRAVE
    ]


@pytest.mark.parametrize(
    ("size", "colours"), [(LAPTOP, "light"), (LAPTOP, "dark"), (TABLET, "light")]
)
def test_every_page_can_be_used_by_everybody(
    spoken_site: Site,
    chromium: Chromium,
    size: tuple[int, int],
    colours: Literal["light", "dark"],
) -> None:
    """Labels, roles, order, contrast."""
    context = chromium.new_context(
        viewport={"width": size[0], "height": size[1]},
        color_scheme=colours,
        reduced_motion="reduce",
    )
    with window_on(spoken_site, context) as window:
        window.press("n", "n", "Enter")
        expect(window.page.locator("#typed")).to_be_focused()
        window.type("p")
        expect(window.page.locator("[role=option]").first).to_be_visible()
        faults = find_faults(window)
        window.press("Escape", "Escape", "c")
        expect(window.page.locator(".row.is-confirmed")).to_have_count(1)
        # Colours and widths are the same style sheet's everywhere: once is enough for the rest.
        for path in PAGES if (size, colours) == (LAPTOP, "light") else ():
            window.open(path)
            faults += find_faults(window)
    context.close()
    assert not faults, "\n".join(faults)


PAGES = (
    "/keys",
    "/history",
    "/sample",
    "/learned",
    "/redactions",
    "/work?order=doubtful&status=confirmed",
)


def test_a_fault_would_be_found(window: Window) -> None:
    """The check itself can fail: a picture without a text is serious."""
    window.page.evaluate("document.body.append(document.createElement('img'))")
    assert any(fault.startswith("image-alt") for fault in find_faults(window))


def test_the_focus_can_always_be_seen(window: Window) -> None:
    for _ in range(12):
        window.press("Tab")
        outline = window.page.evaluate(
            "(() => { const s = getComputedStyle(document.activeElement);"
            " return s.outlineStyle !== 'none' || s.boxShadow !== 'none'; })()"
        )
        assert outline, window.focused


def test_nothing_is_cut_off_on_a_narrow_screen(spoken_site: Site, chromium: Chromium) -> None:
    """390 pixels: neither a page nor a dialog is wider than the screen."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    with window_on(spoken_site, context) as window:
        wide = "document.documentElement.scrollWidth"
        assert window.page.evaluate(wide) <= 390
        window.press("?")
        dialog = window.page.get_by_role("dialog")
        expect(dialog).to_be_visible()
        assert dialog.evaluate("one => one.scrollWidth - one.clientWidth") <= 0
    context.close()
