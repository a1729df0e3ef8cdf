"""The list of labels with every text in full, and the cautions in full at its end."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.housing.paper.labels import Label
from voicelog.housing.paper.page import Column, Paper, Style
from voicelog.vocabulary.concepts import Vocabulary

_MARGIN_MM = 15.0
_NAMES_MM = 34.0
_HEADING = Style(size=15, bold=True)
_VOLUME = Style(size=10, bold=True)
_NAME = Style(size=8.5, bold=True)
_TEXT = Style(size=8.5)
_SMALL = Style(size=7, grey=0.35)


def draw_label_list(paper: Paper, labels: Sequence[Label], vocabulary: Vocabulary) -> None:
    """Draw the list on this page and as many more as it takes."""
    writer = _ListWriter(paper)
    writer.write("Labels in full", _HEADING)
    volume = None
    for label in labels:
        if label.volume != volume:
            volume = label.volume
            writer.write(volume, _VOLUME, before_mm=3)
        caption = f"“{label.caption}”" if label.caption else ""
        entries = "entry " + ", ".join(map(str, label.entries))
        texts = (label.mark, label.place, label.what, caption, entries)
        writer.write_row(label.heading, [text for text in texts if text])
    cautions = dict.fromkeys(caution for label in labels for caution in label.cautions)
    if cautions:
        writer.write("Cautions", _VOLUME, before_mm=4)
    for caution in cautions:
        known = vocabulary.cautions[caution]
        writer.write_row(known.title, [known.wording])


class _ListWriter:
    """Writes down a page and on to the next; numbers pages of the list at the foot."""

    def __init__(self, paper: Paper) -> None:
        self._paper = paper
        self._page = 0
        self._at_mm = 0.0
        self._begin_page()

    def write(self, text: str, style: Style, *, before_mm: float = 0.0) -> None:
        """Write a line over the whole width."""
        self._make_room(before_mm + style.line_mm * 3)
        self._at_mm += before_mm
        self._at_mm = self._paper.line(text, style, self._column(_MARGIN_MM)) + 1

    def write_row(self, name: str, texts: Sequence[str]) -> None:
        """Write a row: its name on the left, its texts beneath each other on the right."""
        width = self._paper.width_mm - 2 * _MARGIN_MM - _NAMES_MM
        fitted = [self._paper.fit(text, _TEXT, width_mm=width, most_lines=200) for text in texts]
        wanted = sum(len(each.lines) for each in fitted) * _TEXT.line_mm + 2
        self._make_room(min(wanted, self._paper.height_mm - 4 * _MARGIN_MM))
        top = self._at_mm
        self._paper.rule((_MARGIN_MM, top), (self._paper.width_mm - _MARGIN_MM, top), grey=0.75)
        self._at_mm += 0.8
        column = self._column(_MARGIN_MM, width_mm=_NAMES_MM - 3)
        names_end, _ = self._paper.flow(name, _NAME, column)
        for each in fitted:
            for line in each.single_lines():
                self._make_room(_TEXT.line_mm)
                column = self._column(_MARGIN_MM + _NAMES_MM, width_mm=width)
                self._at_mm = self._paper.write(line, _TEXT, column)
        self._at_mm = max(self._at_mm, names_end if names_end > top else self._at_mm) + 1.2

    def _make_room(self, wanted_mm: float) -> None:
        if self._at_mm + wanted_mm > self._paper.height_mm - _MARGIN_MM:
            self._paper.new_page()
            self._begin_page()

    def _begin_page(self) -> None:
        self._page += 1
        foot = Column(
            left_mm=self._paper.width_mm - _MARGIN_MM - 30,
            top_mm=self._paper.height_mm - _MARGIN_MM + 3,
            width_mm=30,
            bottom_mm=self._paper.height_mm,
        )
        self._paper.line(f"list, page {self._page}", _SMALL, foot)
        self._at_mm = _MARGIN_MM

    def _column(self, left_mm: float, *, width_mm: float | None = None) -> Column:
        return Column(
            left_mm=left_mm,
            top_mm=self._at_mm,
            width_mm=width_mm or self._paper.width_mm - 2 * _MARGIN_MM,
            bottom_mm=self._paper.height_mm - _MARGIN_MM + 2,
        )
