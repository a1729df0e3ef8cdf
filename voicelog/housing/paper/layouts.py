"""Label sheets: how many labels there are on a sheet, and where."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from voicelog.errors import HousingError
from voicelog.housing.fitting import fits
from voicelog.housing.own_tables import parse_table, read_table
from voicelog.housing.stock.reading import MM_PER_INCH

SMALLEST_LABEL_MM = (40.0, 20.0)
"""Below this a mark, a place and a code can't be read side by side."""

_Length = Annotated[float, Field(gt=0, le=2000, allow_inf_nan=False)]
_Offset = Annotated[float, Field(ge=0, le=500, allow_inf_nan=False)]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelLayout:
    """The geometry of one kind of label sheet, in millimetres.

    Attributes:
        left_mm: from the left edge of the sheet to the first label.
        top_mm: from the upper edge to the first label.
        across_mm: from the left edge of a label to that of the next.
        down_mm: from the upper edge of a label to that of the one below.
        cut_marks: whether marks are printed for a trimmer.
    """

    name: str
    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    label_width_mm: float
    label_height_mm: float
    left_mm: float
    top_mm: float
    across_mm: float
    down_mm: float
    cut_marks: bool

    @property
    def per_page(self) -> int:
        """How many labels a sheet has."""
        return self.columns * self.rows

    def corner_mm(self, index: int) -> tuple[float, float]:
        """Return the upper left corner of a label, counted row by row from 0.

        It is measured from the left and upper edges of the sheet.
        """
        row, column = divmod(index, self.columns)
        return self.left_mm + column * self.across_mm, self.top_mm + row * self.down_mm


class _LayoutRow(BaseModel):
    model_config = ConfigDict(extra="forbid")

    name: Annotated[str, Field(min_length=1)]
    unit: Literal["mm", "inch"] = "mm"
    page: tuple[_Length, _Length]
    columns: Annotated[int, Field(ge=1, le=20)]
    rows: Annotated[int, Field(ge=1, le=50)]
    label: tuple[_Length, _Length]
    left: _Offset
    top: _Offset
    across: _Length
    down: _Length
    cut_marks: bool = False


class _LayoutsForm(BaseModel):
    model_config = ConfigDict(extra="forbid")

    layout: list[_LayoutRow]


def load_layouts() -> tuple[LabelLayout, ...]:
    """Return the generic layouts that come with voicelog."""
    text = (resources.files("voicelog.housing.paper") / "label_layouts.toml").read_text("utf-8")
    return parse_layouts(text, origin="voicelog's label sheets")


def read_layouts(path: Path) -> tuple[LabelLayout, ...]:
    """Return the layouts of a repository's own table.

    Raises:
        HousingError: it can't be read, or a sheet in it can't be.
    """
    text = read_table(path, what="table of label sheets", setting="label_file")
    return parse_layouts(text, origin=str(path))


def parse_layouts(text: str, *, origin: str) -> tuple[LabelLayout, ...]:
    """Return the layouts that a table in TOML describes.

    Raises:
        HousingError: a value makes no sense, or labels overlap or lie off the sheet.
    """
    form = parse_table(text, _LayoutsForm, origin=origin)
    layouts = tuple(_freeze(row) for row in form.layout)
    for layout in layouts:
        if problem := _find_problem(layout):
            raise HousingError(f"{origin} can't be used: {layout.name}: {problem}.")
    return layouts


def find_layout(layouts: tuple[LabelLayout, ...], name: str) -> LabelLayout:
    """Return the layout of this name; of two, the later one.

    Raises:
        HousingError: there is none.
    """
    for layout in reversed(layouts):
        if layout.name == name:
            return layout
    there = ", ".join(dict.fromkeys(layout.name for layout in layouts))
    raise HousingError(f"There is no label sheet {name!r}; there is {there}.")


def _freeze(row: _LayoutRow) -> LabelLayout:
    factor = float(MM_PER_INCH) if row.unit == "inch" else 1.0
    return LabelLayout(
        name=row.name,
        page_width_mm=row.page[0] * factor,
        page_height_mm=row.page[1] * factor,
        columns=row.columns,
        rows=row.rows,
        label_width_mm=row.label[0] * factor,
        label_height_mm=row.label[1] * factor,
        left_mm=row.left * factor,
        top_mm=row.top * factor,
        across_mm=row.across * factor,
        down_mm=row.down * factor,
        cut_marks=row.cut_marks,
    )


def _find_problem(layout: LabelLayout) -> str | None:
    width, height = layout.label_width_mm, layout.label_height_mm
    if width < SMALLEST_LABEL_MM[0] or height < SMALLEST_LABEL_MM[1]:
        return (
            f"a label of {width:g} x {height:g} mm has no room for a mark, a place and a code; "
            f"use one of at least {SMALLEST_LABEL_MM[0]:g} x {SMALLEST_LABEL_MM[1]:g} mm"
        )
    if layout.columns > 1 and not fits(width, layout.across_mm):
        return f"labels of {width:g} mm overlap at {layout.across_mm:g} mm across"
    if layout.rows > 1 and not fits(height, layout.down_mm):
        return f"labels of {height:g} mm overlap at {layout.down_mm:g} mm down"
    left, top = layout.corner_mm(layout.per_page - 1)
    if not fits(left + width, layout.page_width_mm):
        over = left + width - layout.page_width_mm
        return f"the last column lies {over:.1f} mm off the sheet"
    if not fits(top + height, layout.page_height_mm):
        over = top + height - layout.page_height_mm
        return f"the last row lies {over:.1f} mm off the sheet"
    return None
