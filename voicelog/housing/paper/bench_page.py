"""One page for each volume on the bench: how sheets are cut, how things lie in the box."""

from __future__ import annotations

from voicelog.housing.paper.labels import name_volume
from voicelog.housing.paper.page import Column, Paper, Style
from voicelog.housing.plan import FilledBox, VolumePlan
from voicelog.housing.stock import Box
from voicelog.vocabulary.concepts import Vocabulary

_MARGIN_MM = 15.0
_TITLE = Style(size=16, bold=True)
_HEAD = Style(size=10.5, bold=True)
_TEXT = Style(size=9)
_SMALL = Style(size=7.5)
_DRAWING_MM = (84.0, 62.0)
_VOLUME_FILL = (0.86, 0.90, 0.87)
_FOLDER_FILL = (0.95, 0.91, 0.82)
_PIECE_FILL = (0.92, 0.94, 0.97)


class BenchPage:
    """Draws the page of one volume on a paper."""

    def __init__(self, paper: Paper, plan: VolumePlan, vocabulary: Vocabulary) -> None:
        self._paper = paper
        self._plan = plan
        self._vocabulary = vocabulary
        self._at_mm = _MARGIN_MM

    def draw(self) -> None:
        """Draw it: boxes, cutting, enclosures, what is unclear, cautions."""
        self._write(name_volume(self._plan.volume), _TITLE)
        for filled in self._plan.boxes:
            self._draw_box(filled)
        self._draw_cutting()
        self._write_enclosures()
        if self._plan.remarks:
            self._write("To be settled", _HEAD, before_mm=3)
            for remark in self._plan.remarks:
                self._write(f"– {remark}", _TEXT)
        if self._plan.cautions:
            self._write("Cautions", _HEAD, before_mm=3)
            for caution in self._plan.cautions:
                known = self._vocabulary.cautions[caution]
                self._write(f"{known.title}. {known.wording}", _SMALL, before_mm=0.6)

    def _draw_box(self, filled: FilledBox) -> None:
        choice = filled.choice
        self._write("Box", _HEAD, before_mm=4)
        scale = min(_DRAWING_MM[0] / choice.box.length_mm, _DRAWING_MM[1] / choice.box.width_mm)
        left, top = _MARGIN_MM, self._at_mm + 1
        height = choice.box.width_mm * scale
        self._paper.frame((left, top), (choice.box.length_mm * scale, height), width_pt=1)
        names = ("volume", "folders") if "volume" in filled.holds[0] else ("folders",)
        for spot, name in zip(choice.spots, names, strict=False):
            corner = (left + spot.left_mm * scale, top + spot.top_mm * scale)
            size = (spot.length_mm * scale, spot.width_mm * scale)
            fill = _VOLUME_FILL if name == "volume" else _FOLDER_FILL
            self._paper.frame(corner, size, fill=fill, width_pt=0.6)
            turned = ", turned" if spot.turned else ""
            caption = Column(
                left_mm=corner[0] + 1.5,
                top_mm=corner[1] + 1.5,
                width_mm=size[0] - 2,
                bottom_mm=corner[1] + size[1],
            )
            self._paper.flow(f"{name}{turned}", _SMALL, caption)
        litres = choice.void_mm3 / 1_000_000
        filling = (
            f"; fill it with {filled.filling_sheets} x {filled.filling.name}, crumpled loosely"
            if filled.filling is not None
            else ""
        )
        self._write_beside(
            (
                choice.box.name,
                f"Inside {_join_sides(choice.box)} mm; seen from above.",
                f"Holds {' and '.join(filled.holds)}, flat, nothing on the volume or under it.",
                f"Gap {litres:.1f} litres{filling}.",
                f"About {filled.weight_g / 1000:.1f} kg when filled (estimated).",
            ),
            top,
        )
        self._at_mm = max(self._at_mm, top + height) + 1

    def _draw_cutting(self) -> None:
        leaving = self._plan.interleaving
        self._write("Interleaving", _HEAD, before_mm=4)
        if leaving.overlay is not None:
            self._write(f"None: {leaving.overlay} covers the pages.", _TEXT)
        elif not leaving.sheets:
            self._write("None.", _TEXT)
        planned = {cutting.sheet.buffered for cutting in self._plan.cutting}
        for buffered, kind in ((True, "buffered"), (False, "unbuffered")):
            if (count := leaving.count(buffered=buffered)) and buffered not in planned:
                self._write(f"{count} {kind}, not cut yet: see what is to be settled.", _TEXT)
        for cutting in self._plan.cutting:
            sheet = cutting.sheet
            scale = min(_DRAWING_MM[0] / sheet.length_mm, _DRAWING_MM[1] / sheet.width_mm) * 0.72
            left, top = _MARGIN_MM, self._at_mm + 1
            height = sheet.width_mm * scale
            self._paper.frame((left, top), (sheet.length_mm * scale, height), width_pt=0.8)
            for cut in cutting.per_sheet:
                self._paper.frame(
                    (left + cut.left_mm * scale, top + cut.top_mm * scale),
                    (cut.along_mm * scale, cut.across_mm * scale),
                    fill=_PIECE_FILL,
                    width_pt=0.5,
                    dashed=True,
                )
            piece_height, piece_width = cutting.piece_mm
            self._write_beside(
                (
                    f"{cutting.sheets} x {sheet.name}",
                    f"{cutting.pieces} of {piece_height:.1f} x {piece_width:.1f} mm, height first",
                    f"{len(cutting.per_sheet)} from each, {cutting.waste_share:.0%} waste",
                ),
                top,
            )
            self._at_mm = max(self._at_mm, top + height) + 2
        if self._plan.cutting:
            bulk = self._plan.bulk
            bears = "" if bulk.slack_mm is None else f" The binding bears {bulk.slack_mm:g} mm."
            self._write(f"Together they add {bulk.added_mm:.1f} mm.{bears}", _TEXT)

    def _write_enclosures(self) -> None:
        rows = [
            f"{need.named}: {need.envelope.name if need.envelope is not None else need.reason}"
            for need in self._plan.envelopes
        ]
        rows += [f"{label}: as it is" for label, _ in self._plan.other_enclosures]
        rows += [
            f"{folder.folder.name if folder.folder is not None else folder.reason}: "
            + ", ".join(need.named for need in folder.envelopes)
            for folder in self._plan.folders
        ]
        if rows:
            self._write("Enclosures", _HEAD, before_mm=3)
            for row in rows:
                self._write(row, _TEXT)

    def _write_beside(self, texts: tuple[str, ...], top_mm: float) -> None:
        left = _MARGIN_MM + _DRAWING_MM[0] + 6
        at = top_mm
        for index, text in enumerate(texts):
            column = Column(
                left_mm=left,
                top_mm=at,
                width_mm=self._paper.width_mm - _MARGIN_MM - left,
                bottom_mm=self._paper.height_mm - _MARGIN_MM,
            )
            style = Style(size=9, bold=True) if index == 0 else _TEXT
            at, _ = self._paper.flow(text, style, column)
            at += 0.8
        self._at_mm = max(self._at_mm, at)

    def _write(self, text: str, style: Style, *, before_mm: float = 0.0) -> None:
        width = self._paper.width_mm - 2 * _MARGIN_MM
        fitted = self._paper.fit(text, style, width_mm=width, most_lines=200)
        wanted = before_mm + len(fitted.lines) * style.line_mm
        if self._at_mm + wanted > self._paper.height_mm - _MARGIN_MM:
            self._paper.new_page()
            self._at_mm = _MARGIN_MM
        column = Column(
            left_mm=_MARGIN_MM,
            top_mm=self._at_mm + before_mm,
            width_mm=width,
            bottom_mm=self._paper.height_mm - _MARGIN_MM,
        )
        self._at_mm = self._paper.write(fitted, style, column)


def _join_sides(box: Box) -> str:
    return f"{box.length_mm:.0f} x {box.width_mm:.0f} x {box.depth_mm:.0f}"
