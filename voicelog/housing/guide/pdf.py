"""The guide as a PDF, for the box: the same words and drawings as the HTML."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from voicelog.housing.guide.schematic import Drawn, draw_side
from voicelog.housing.guide.views import Guide, PageView, View
from voicelog.housing.guide.words import (
    DRAWING_NOTE,
    KEY,
    LEAD,
    ItemWords,
    Wording,
    describe_home,
    notes_of_page,
)
from voicelog.housing.paper.page import Column, Paper, Style
from voicelog.housing.paper.typeface import Typeface
from voicelog.housing.volumes import Numbered, Whereabouts
from voicelog.vocabulary.concepts import Caution

_MARGIN_MM = 15.0
_TITLE = Style(size=17, bold=True)
_HEAD = Style(size=12, bold=True)
_PAGE = Style(size=9.5, bold=True)
_TEXT = Style(size=8.5)
_NOW = Style(size=8.5, bold=True)
_SOFT = Style(size=7.5, grey=0.35)
_CAUTION = Style(size=8)
_FOOT = Style(size=7, grey=0.45)
_DRAWING_MM = (56.0, 46.0)  # width and height at most
_THUMBNAIL_MM = 27.0
_GAP_MM = 4.0
_ORDER_MM = 6.0
_USUAL_PAGE_MM = (280.0, 220.0)
Colour = tuple[float, float, float]
_PAPER: Colour = (0.985, 0.98, 0.965)
_FILLS: Mapping[Whereabouts, Colour] = {
    Whereabouts.IN_PLACE: (1.0, 1.0, 1.0),
    Whereabouts.FOUND_LOOSE: (0.965, 0.905, 0.755),
    Whereabouts.ENCLOSED: (0.86, 0.905, 0.953),
    Whereabouts.SET_ASIDE: (0.86, 0.905, 0.953),
    Whereabouts.NOT_ENCLOSED: (0.86, 0.905, 0.953),
    Whereabouts.MISSING: (0.93, 0.93, 0.92),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class GuidePaper:
    """A guide as PDF, and how many pages it has."""

    pdf: bytes
    pages: int


def print_guide(
    guide: Guide,
    cautions: Iterable[Caution],
    *,
    repository: str,
    closing: str,
    size_mm: tuple[float, float],
) -> GuidePaper:
    """Return the guide of a volume as a PDF.

    Args:
        guide: the guide.
        cautions: those that apply to the volume.
        repository: its name, or "".
        closing: the sentence that ends every caution; the lead ends in it too.
        size_mm: width and height of the paper.
    """
    title = f"{guide.volume.accession or ''} {guide.volume.title}".strip()
    paper = Paper(f"Rebuild guide: {title}", Typeface(), size_mm)
    writer = _GuideWriter(paper, guide, title)
    writer.write_head(repository, f"{LEAD} {closing}", tuple(cautions))
    for view in guide.views:
        writer.write_view(view)
    writer.write_unplaced()
    writer.write_enclosures()
    return GuidePaper(pdf=paper.finish(), pages=paper.pages)


class _GuideWriter:
    """Writes down one page after the other."""

    def __init__(self, paper: Paper, guide: Guide, title: str) -> None:
        self._paper = paper
        self._guide = guide
        self._title = title
        self._wording = Wording(guide)
        entry = guide.volume.entry
        self._page_mm = entry.dimensions if entry is not None else None
        self._at_mm = _MARGIN_MM
        self._write_foot()

    # --- Head -------------------------------------------------------------------------

    def write_head(self, repository: str, lead: str, cautions: Sequence[Caution]) -> None:
        """Write title, lead, facts, counts, cautions and the key to the drawings."""
        if repository:
            self._write(repository, _SOFT)
        self._write("Rebuild guide", _HEAD)
        self._write(self._title, _TITLE)
        self._write(lead, _TEXT, before_mm=1)
        facts = " · ".join(f"{name}: {value}" for name, value in self._wording.facts())
        self._write(facts, _TEXT, before_mm=1.5)
        counts = " · ".join(f"{count} {name}" for name, count in self._wording.counts())
        self._write(counts, _NOW, before_mm=0.5)
        for caution in cautions:
            self._write(f"{caution.title}. {caution.wording}", _CAUTION, before_mm=1)
        self._at_mm += 2.5
        left = _MARGIN_MM
        for where, words in KEY:
            self._paper.frame((left, self._at_mm), (7, 4), fill=_FILLS[where], width_pt=0.6)
            if where is Whereabouts.MISSING:
                self._cross(left, self._at_mm, 7, 4)
            left = self._write_key(words, left + 8.5)
        self._paper.frame((left, self._at_mm), (7, 4), width_pt=0.6, dashed=True)
        self._write_key("where wasn't said", left + 8.5)
        self._at_mm += 5.5
        self._write(DRAWING_NOTE, _SOFT)
        self._at_mm += 2

    def _write_key(self, words: str, left: float) -> float:
        width = self._paper.text_width_mm(words, _SOFT) + 5
        column = Column(left_mm=left, top_mm=self._at_mm + 0.3, width_mm=width, bottom_mm=999)
        self._paper.line(words, _SOFT, column)
        return left + width

    # --- Views ------------------------------------------------------------------------

    def write_view(self, view: View) -> None:
        """Write one opening or cover."""
        if view.is_quiet:
            named = " | ".join(f"{page.title}: {page.summary}" for page in view.pages)
            self._make_room(_TEXT.line_mm + 3)
            self._rule()
            self._write(named, _SOFT, before_mm=1)
            self._at_mm += 1
            return
        height_mm = self._drawing_size()[1]
        self._make_room(height_mm + _PAGE.line_mm + 14)
        self._rule()
        self._at_mm += 1.5
        top = self._at_mm
        half = (self._paper.width_mm - 2 * _MARGIN_MM) / 2
        for index, page in enumerate(view.pages):
            self._draw_page(page, _MARGIN_MM + index * half, top)
        self._at_mm = top + _PAGE.line_mm + height_mm + 2.5
        for page in view.pages:
            self._write_page_words(page, is_alone=len(view.pages) == 1)
        if view.inserts:
            self._write("found loose between these leaves", _PAGE, before_mm=0.5)
            self._write_items([self._wording.of_item(row) for row in view.inserts])
        self._at_mm += 1.5

    def write_unplaced(self) -> None:
        """Write the entries whose place was never said."""
        if self._guide.unplaced:
            self._make_room(20)
            self._write("Place not said", _HEAD, before_mm=4)
            self._write_items([self._wording.of_item(row) for row in self._guide.unplaced])

    def write_enclosures(self) -> None:
        """Write what was removed, enclosure by enclosure."""
        enclosures = list(self._wording.enclosures())
        if not enclosures:
            return
        self._make_room(20)
        self._write("What was removed, by enclosure", _HEAD, before_mm=5)
        for label, rows in enclosures:
            for index, row in enumerate(rows):
                self._write_enclosed(label if index == 0 else "", row)

    def _write_enclosed(self, label: str, row: Numbered) -> None:
        _, entry = row
        width = self._paper.width_mm - 2 * _MARGIN_MM
        what = ", ".join(entry.item_type) or "item"
        cells = (
            (label, _NOW, 0.0, 0.17),
            (f"{entry.quantity} x {what}" if entry.quantity != 1 else what, _TEXT, 0.17, 0.27),
            (describe_home(entry), _TEXT, 0.44, 0.28),
            (entry.mark or "", _TEXT, 0.72, 0.28),
        )
        fitted = [
            (self._paper.fit(text, style, width_mm=width * share - 2, most_lines=6), style, start)
            for text, style, start, share in cells
        ]
        height = max(len(each.lines) for each, *_ in fitted) * _TEXT.line_mm + 1.6
        self._make_room(height)
        self._rule()
        for each, style, start in fitted:
            column = Column(
                left_mm=_MARGIN_MM + width * start,
                top_mm=self._at_mm + 0.6,
                width_mm=width,
                bottom_mm=self._bottom_mm,
            )
            self._paper.write(each, style, column)
        self._at_mm += height

    def _draw_page(self, page: PageView, left: float, top: float) -> None:
        width, height = self._drawing_size()
        column = Column(left_mm=left, top_mm=top, width_mm=_DRAWING_MM[0] + 28, bottom_mm=top + 6)
        self._paper.line(page.title, _PAGE, column)
        corner = (left, top + _PAGE.line_mm + 0.8)
        self._paper.frame(corner, (width, height), fill=_PAPER, grey=0.55, width_pt=0.6)
        drawn = draw_side(page.items, self._page_mm)
        for each in drawn:
            self._draw_item(each, corner, (width, height))
        if not drawn:
            self._label(page.summary, _SOFT, corner[0] + width / 2, corner[1] + height / 2)
        if page.thumbnail is not None:
            room = (_THUMBNAIL_MM, height)
            self._paper.picture(page.thumbnail, (left + width + 2, corner[1]), room)

    def _draw_item(
        self, drawn: Drawn, corner: tuple[float, float], page: tuple[float, float]
    ) -> None:
        left, top = corner[0] + drawn.left * page[0], corner[1] + drawn.top * page[1]
        size = (drawn.width * page[0], drawn.height * page[1])
        self._paper.frame(
            (left, top), size, fill=_FILLS[drawn.where], width_pt=0.7, dashed=drawn.is_guessed
        )
        if drawn.where is Whereabouts.MISSING:
            self._cross(left, top, *size)
        at = drawn.label_at
        self._label(drawn.label, _NOW, corner[0] + at[0] * page[0], corner[1] + at[1] * page[1])

    def _label(self, text: str, style: Style, middle: float, centre: float) -> None:
        width = self._paper.text_width_mm(text, style)
        column = Column(
            left_mm=middle - width / 2,
            top_mm=centre - style.line_mm / 2,
            width_mm=width + 1,
            bottom_mm=centre + style.line_mm,
        )
        self._paper.line(text, style, column)

    def _cross(self, left: float, top: float, width: float, height: float) -> None:
        self._paper.rule((left, top), (left + width, top + height), grey=0.6)
        self._paper.rule((left, top + height), (left + width, top), grey=0.6)

    def _drawing_size(self) -> tuple[float, float]:
        height, width = self._page_mm or _USUAL_PAGE_MM
        scale = min(_DRAWING_MM[0] / width, _DRAWING_MM[1] / height)
        return width * scale, height * scale

    # --- Words ------------------------------------------------------------------------

    def _write_page_words(self, page: PageView, *, is_alone: bool) -> None:
        notes = list(notes_of_page(page))
        if not notes and not page.items:
            return
        if not is_alone:
            self._make_room(_PAGE.line_mm + 2 * _TEXT.line_mm)
            self._write(page.title, _PAGE, before_mm=0.5)
        for note in notes:
            self._write(note, _SOFT)
        guessed = {each.number for each in draw_side(page.items, self._page_mm) if each.is_guessed}
        self._write_items(
            [self._wording.of_item(row, is_guessed=row[0] in guessed) for row in page.items]
        )

    def _write_items(self, items: Sequence[ItemWords]) -> None:
        for item in items:
            now = f"{item.whereabouts}, marked {item.mark}" if item.mark else item.whereabouts
            self._make_room(2 * _TEXT.line_mm)
            order = Column(
                left_mm=_MARGIN_MM,
                top_mm=self._at_mm,
                width_mm=_ORDER_MM,
                bottom_mm=self._bottom_mm,
            )
            self._paper.line(item.order, _NOW, order)
            self._write(f"{item.description}. {now[:1].upper()}{now[1:]}.", _TEXT, indented=True)
            if item.ties:
                self._write(item.ties, _TEXT, indented=True)
            if item.caption:
                self._write(f"“{item.caption}”", _TEXT, indented=True)
            if item.remark:
                self._write(f"remark: {item.remark}", _SOFT, indented=True)
            self._at_mm += 0.6

    def _write(
        self, text: str, style: Style, *, before_mm: float = 0.0, indented: bool = False
    ) -> None:
        """Write a text as far as the page goes, and on over the next ones."""
        indent = _ORDER_MM if indented else 0.0
        width = self._paper.width_mm - 2 * _MARGIN_MM - indent
        self._at_mm += before_mm
        fitted = self._paper.fit(text, style, width_mm=width, most_lines=1000)
        for line in fitted.single_lines():
            self._make_room(style.line_mm)
            column = Column(
                left_mm=_MARGIN_MM + indent,
                top_mm=self._at_mm,
                width_mm=width,
                bottom_mm=self._bottom_mm,
            )
            self._at_mm = self._paper.write(line, style, column)

    @property
    def _bottom_mm(self) -> float:
        return self._paper.height_mm - _MARGIN_MM

    def _rule(self) -> None:
        right = self._paper.width_mm - _MARGIN_MM
        self._paper.rule((_MARGIN_MM, self._at_mm), (right, self._at_mm), grey=0.75)

    def _make_room(self, wanted_mm: float) -> None:
        if self._at_mm + wanted_mm > self._bottom_mm:
            self._paper.new_page()
            self._at_mm = _MARGIN_MM
            self._write_foot()

    def _write_foot(self) -> None:
        column = Column(
            left_mm=_MARGIN_MM,
            top_mm=self._paper.height_mm - _MARGIN_MM + 4,
            width_mm=self._paper.width_mm - 2 * _MARGIN_MM,
            bottom_mm=self._paper.height_mm,
        )
        self._paper.line(f"Rebuild guide, {self._title}, page {self._paper.pages}", _FOOT, column)
