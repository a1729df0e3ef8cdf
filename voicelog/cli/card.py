"""voicelog card: the bench card, one page of what can be said."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from voicelog.cli.house_paper import write_bytes
from voicelog.cli.table import respell
from voicelog.cli.terminal import say
from voicelog.housing.paper.bench_card import print_bench_card
from voicelog.housing.paper.preview import draw_preview
from voicelog.settings import read_settings
from voicelog.wiring.housing import make_label_layout
from voicelog.wiring.reading import make_vocabulary

# ISO 216 and ANSI/ASME Y14.1, width before height.
_SIZES_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


@click.command()
@click.option(
    "--out",
    "target",
    type=click.Path(path_type=Path),
    required=True,
    metavar="OUT.pdf",
    help="What to write; a file that is there is replaced.",
)
@click.option(
    "--size",
    type=click.Choice(list(_SIZES_MM)),
    help="The paper; else that of the setting label_layout.",
)
@click.option("--preview", is_flag=True, help="A picture of the page, beside the PDF.")
def card(target: Path, *, size: str | None, preview: bool) -> int:
    """Print what can be said on one page for the bench.

    With the terms of your vocabulary, your own ones too.
    """
    settings = read_settings()
    layout = make_label_layout(settings)
    pdf = print_bench_card(
        make_vocabulary(settings),
        size_mm=_SIZES_MM[size] if size else (layout.page_width_mm, layout.page_height_mm),
        spell=partial(respell, spelling=settings.spelling),
    )
    write_bytes(target, pdf, option="--out")
    if preview:
        write_bytes(target.with_suffix(".png"), draw_preview(pdf), option="--out")
    say(f"Bench card written to {target}.")
    return 0
