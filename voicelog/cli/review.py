"""voicelog review: the pages in the browser where a person hears, corrects and confirms."""

from __future__ import annotations

import os
import threading
import webbrowser
from pathlib import Path

import click

from voicelog.cli.options import log_option
from voicelog.cli.terminal import say
from voicelog.settings import read_settings


@click.command()
@log_option
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    default=None,
    metavar="N",
    help="The port on this machine; else any that is free.",
)
@click.option("--no-browser", is_flag=True, help="Print the address and open no browser.")
@click.option(
    "--by",
    "--reviewer",
    "reviewer",
    metavar="NAME",
    default="",
    help="Who reviews; else the page asks for the name.",
)
def review(folder: Path, port: int | None, *, no_browser: bool, reviewer: str) -> int:
    """Hear, correct and confirm the entries in the browser.

    The pages are served to this machine only, and to the browser that opens the address
    printed; the address is good once. Ctrl-C ends it.
    """
    # Only here, because they bring a web server.
    from voicelog.review.pages.server import claim_port, serve  # noqa: PLC0415
    from voicelog.wiring.review import make_review  # noqa: PLC0415

    settings = read_settings()
    with claim_port(port) as listening:
        review_pages = make_review(
            folder, settings, port=listening.getsockname()[1], reviewer=reviewer
        )

        say(f"Reviewing {folder} at {review_pages.address}")
        say("Only this machine can open it, and only once. Ctrl-C ends it.")
        if not no_browser and _has_screen():
            webbrowser.open(review_pages.address)
        threading.Thread(target=review_pages.warm_up, daemon=True).start()
        serve(review_pages.app, listening)
    return 0


def _has_screen() -> bool:
    # Without one, a browser in the terminal would take the place of our own messages.
    return any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY"))
