"""The guide as one HTML file: nothing is loaded from anywhere, everything is escaped."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from voicelog.housing.guide.machine_part import ELEMENT_ID, write_machine_part
from voicelog.housing.guide.schematic import Drawn, draw_side
from voicelog.housing.guide.views import Guide, PageView, describe_entry
from voicelog.housing.guide.words import (
    DRAWING_NOTE,
    KEY,
    LEAD,
    ItemWords,
    Wording,
    describe_home,
    notes_of_page,
)
from voicelog.housing.volumes import Whereabouts
from voicelog.vocabulary.concepts import Caution

_USUAL_PAGE_MM = (280.0, 220.0)
_DRAWING_WIDTH = 200.0
STYLE_OF: Mapping[Whereabouts, str] = {
    Whereabouts.IN_PLACE: "in-place",
    Whereabouts.FOUND_LOOSE: "found-loose",
    Whereabouts.ENCLOSED: "removed",
    Whereabouts.SET_ASIDE: "removed",
    Whereabouts.NOT_ENCLOSED: "removed",
    Whereabouts.MISSING: "missing",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rectangle:
    left: float
    top: float
    width: float
    height: float
    style: str
    label: str
    label_left: float
    label_top: float
    title: str
    crossed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _PageWords:
    title: str
    summary: str
    thumbnail: str | None
    rectangles: tuple[_Rectangle, ...]
    width: float
    height: float
    notes: tuple[str, ...]
    items: tuple[ItemWords, ...]


def write_html(guide: Guide, cautions: Iterable[Caution], *, repository: str, closing: str) -> str:
    """Return the guide of a volume as HTML.

    Args:
        guide: the guide.
        cautions: those that apply to the volume.
        repository: its name, or "".
        closing: the sentence that ends every caution; the lead ends in it too.
    """
    # Only here: templates and markup are needed for nothing else.
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415

    environment = Environment(
        loader=PackageLoader("voicelog.housing.guide", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    wording = Wording(guide)
    writer = _PageWriter(guide, wording)
    template = environment.get_template("guide.html.jinja")
    return template.render(
        title=f"{guide.volume.accession or ''} {guide.volume.title}".strip(),
        repository=repository,
        lead=f"{LEAD} {closing}",
        drawing_note=DRAWING_NOTE,
        styles=STYLE_OF,
        key=[(STYLE_OF[where], words) for where, words in KEY],
        facts=list(wording.facts()),
        counts=list(wording.counts()),
        cautions=list(cautions),
        views=[
            {
                "pages": [writer.words(page) for page in view.pages],
                "inserts": [wording.of_item(row) for row in view.inserts],
                "is_quiet": view.is_quiet,
            }
            for view in guide.views
        ],
        enclosures=[
            (label, [(number, entry, describe_home(entry)) for number, entry in rows])
            for label, rows in wording.enclosures()
        ],
        unplaced=[wording.of_item(row) for row in guide.unplaced],
        element_id=ELEMENT_ID,
        machine_part=write_machine_part(guide.volume),
    )


class _PageWriter:
    def __init__(self, guide: Guide, wording: Wording) -> None:
        entry = guide.volume.entry
        self._page_mm = entry.dimensions if entry is not None else None
        self._wording = wording

    def words(self, page: PageView) -> _PageWords:
        """Return a page as the template shows it."""
        drawn = draw_side(page.items, self._page_mm)
        guessed = {each.number for each in drawn if each.is_guessed}
        height_mm, width_mm = self._page_mm or _USUAL_PAGE_MM
        height = _DRAWING_WIDTH * height_mm / width_mm
        return _PageWords(
            title=page.title,
            summary=page.summary,
            thumbnail=None
            if page.thumbnail is None
            else base64.b64encode(page.thumbnail).decode("ascii"),
            rectangles=tuple(self._rectangle(each, height) for each in drawn),
            width=_DRAWING_WIDTH,
            height=round(height, 1),
            notes=tuple(notes_of_page(page)),
            items=tuple(
                self._wording.of_item(row, is_guessed=row[0] in guessed) for row in page.items
            ),
        )

    def _rectangle(self, drawn: Drawn, height: float) -> _Rectangle:
        style = STYLE_OF[drawn.where]
        return _Rectangle(
            left=round(drawn.left * _DRAWING_WIDTH, 1),
            top=round(drawn.top * height, 1),
            width=round(drawn.width * _DRAWING_WIDTH, 1),
            height=round(drawn.height * height, 1),
            style=f"{style} guessed" if drawn.is_guessed else style,
            label=drawn.label,
            label_left=round(drawn.label_at[0] * _DRAWING_WIDTH, 1),
            label_top=round(drawn.label_at[1] * height, 1),
            title=describe_entry(drawn.entry),
            crossed=drawn.where is Whereabouts.MISSING,
        )
