"""The door of the stock table: TOML in, a checked :class:`Stock` out."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import fields
from decimal import Decimal
from importlib import resources
from pathlib import Path
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from voicelog.errors import HousingError
from voicelog.housing.own_tables import parse_toml, read_table
from voicelog.housing.stock.table import (
    BindingSlack,
    Box,
    Envelope,
    Filling,
    Folder,
    Rules,
    Sheet,
    Stock,
)

MM_PER_INCH = Decimal("25.4")
"""Exact since 1 July 1959 (NIST SP 811; addendum of 22 Jan 1960 to NBS Circular 572)."""
SMALLEST_MM, LARGEST_MM = 10.0, 3000.0
"""What can be a side of anything on the shelf; beyond that somebody mistook the unit."""
THICKEST_MM = 20.0
_TOLD_AT_ONCE = 5

Unit = Literal["mm", "inch"]
_Length = Annotated[float, Field(gt=0, allow_inf_nan=False)]
_Weight = Annotated[float, Field(ge=0, le=50_000, allow_inf_nan=False)]
_Caliper = Annotated[float, Field(gt=0, le=THICKEST_MM, allow_inf_nan=False)]


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid")

    name: Annotated[str, Field(min_length=1, max_length=80)]
    unit: Unit | None = None
    weight_g: _Weight
    price: Annotated[Decimal, Field(ge=0, allow_inf_nan=False)] | None = None
    on_hand: Annotated[int, Field(ge=0)] | None = None
    source: str = ""


class _BoxRow(_Row):
    inside: tuple[_Length, _Length, _Length]


class _EnvelopeRow(_Row):
    inside: tuple[_Length, _Length]
    caliper_mm: _Caliper


class _FolderRow(_Row):
    inside: tuple[_Length, _Length]
    caliper_mm: _Caliper
    capacity_mm: Annotated[float, Field(gt=0, le=300, allow_inf_nan=False)]


class _SheetRow(_Row):
    size: tuple[_Length, _Length]
    caliper_mm: _Caliper
    buffered: bool
    grain: Literal["long", "short"] | None = None


class _FillingRow(_Row):
    fills_litres: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)]


class _BindingRow(BaseModel):
    model_config = ConfigDict(extra="forbid")

    binding: str
    slack_mm: Annotated[float, Field(ge=0, le=300, allow_inf_nan=False)]
    remedy: str


class _RulesForm(BaseModel):
    model_config = ConfigDict(extra="forbid")

    envelope_margin_mm: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
    box_clearance_mm: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
    interleaf_inset_mm: Annotated[float, Field(ge=0, le=50, allow_inf_nan=False)]
    cover_thickness_mm: Annotated[float, Field(ge=0, le=30, allow_inf_nan=False)]
    item_thickness_mm: Annotated[float, Field(gt=0, le=50, allow_inf_nan=False)]
    volume_density_g_per_cm3: Annotated[float, Field(gt=0, le=5, allow_inf_nan=False)]
    heavy_from_kg: Annotated[float, Field(gt=0, le=50, allow_inf_nan=False)]


class _StockForm(BaseModel):
    model_config = ConfigDict(extra="forbid")

    unit: Unit = "mm"
    currency: str = ""
    rules: _RulesForm
    leaf_thickness_mm: dict[str, _Caliper] = {}
    box: list[_BoxRow] = []
    envelope: list[_EnvelopeRow] = []
    folder: list[_FolderRow] = []
    sheet: list[_SheetRow] = []
    filling: list[_FillingRow] = []
    binding: list[_BindingRow] = []


class _Problem(NamedTuple):
    path: str
    message: str


def load_default_stock() -> Stock:
    """Return the stock that comes with voicelog: generic sizes, nothing counted or priced."""
    return parse_stock(_default_text(), origin="voicelog's default stock")


def read_stock(path: Path) -> Stock:
    """Return the stock of a repository's own table.

    Rules, binding slack and leaf thickness that it leaves out are those of the default.

    Raises:
        HousingError: it can't be read, or a value in it makes no sense; all are named.
    """
    text = read_table(path, what="stock table", setting="stock_file")
    return parse_stock(text, origin=str(path))


def parse_stock(text: str, *, origin: str) -> Stock:
    """Return the stock that a table in TOML describes.

    Args:
        text: the table.
        origin: what to call it when something in it is wrong.

    Raises:
        HousingError: a value in it makes no sense; up to five are named with their place.
    """
    values = parse_toml(text, origin=origin)
    shipped = tomllib.loads(_default_text())
    values["rules"] = shipped["rules"] | values.get("rules", {})
    for key in ("leaf_thickness_mm", "binding"):
        values.setdefault(key, shipped[key])
    try:
        form = _StockForm.model_validate(values)
    except ValidationError as failure:
        _refuse(origin, [_tell(values, problem) for problem in failure.errors()])
    stock = _freeze(form)
    _refuse(origin, [*_find_doubles(form), *_find_absurd_sizes(stock)])
    return stock


def _default_text() -> str:
    return (resources.files("voicelog.housing.stock") / "default_stock.toml").read_text("utf-8")


def _refuse(origin: str, problems: list[_Problem]) -> None:
    if not problems:
        return
    told = "; ".join(f"{path}: {message}" for path, message in problems[:_TOLD_AT_ONCE])
    left = len(problems) - _TOLD_AT_ONCE
    more = f"; and {left} more" if left > 0 else ""
    raise HousingError(f"{origin} can't be used. {told}{more}. Correct it and try again.")


def _tell(values: dict[str, Any], problem: Any) -> _Problem:
    place = list(problem["loc"])
    path = ".".join(str(part) for part in place)
    if len(place) > 1 and isinstance(place[1], int):
        row = values[place[0]][place[1]]
        name = row.get("name", row.get("binding")) if isinstance(row, dict) else None
        path = f"{place[0]} {name or place[1] + 1}, {'.'.join(str(part) for part in place[2:])}"
    message = problem["msg"][:1].lower() + problem["msg"][1:]
    given = problem["input"]
    shown = f" (not {given!r})" if isinstance(given, int | float | str) else ""
    return _Problem(path, f"{message}{shown}")


def _find_doubles(form: _StockForm) -> Iterator[_Problem]:
    rows: list[_Row] = [*form.box, *form.envelope, *form.folder, *form.sheet, *form.filling]
    for name, count in Counter(row.name for row in rows).items():
        if count > 1:
            yield _Problem(name, f"stands there {count} times; give each a name of its own")


def _find_absurd_sizes(stock: Stock) -> Iterator[_Problem]:
    for item in stock.items():
        for field in fields(item):
            if field.name in {"length_mm", "width_mm", "height_mm", "depth_mm"}:
                size = getattr(item, field.name)
                if not SMALLEST_MM <= size <= LARGEST_MM:
                    yield _Problem(
                        item.name,
                        f"a side of {size:g} mm is outside {SMALLEST_MM:g} to {LARGEST_MM:g} mm; "
                        "look at its unit",
                    )


def _freeze(form: _StockForm) -> Stock:
    def sides(row: _Row, values: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(_to_mm(value, row.unit or form.unit) for value in values)

    def shared(row: _Row) -> dict[str, Any]:
        return {
            "name": row.name,
            "weight_g": row.weight_g,
            "price": row.price,
            "on_hand": row.on_hand,
            "source": row.source,
        }

    boxes = []
    for box in form.box:
        first, second, depth = sides(box, box.inside)
        boxes.append(
            Box(
                **shared(box),
                length_mm=max(first, second),
                width_mm=min(first, second),
                depth_mm=depth,
            )
        )
    envelopes = []
    for envelope in form.envelope:
        height, width = sides(envelope, envelope.inside)
        envelopes.append(
            Envelope(
                **shared(envelope),
                height_mm=height,
                width_mm=width,
                caliper_mm=envelope.caliper_mm,
            )
        )
    folders = []
    for folder in form.folder:
        height, width = sides(folder, folder.inside)
        folders.append(
            Folder(
                **shared(folder),
                height_mm=height,
                width_mm=width,
                caliper_mm=folder.caliper_mm,
                capacity_mm=folder.capacity_mm,
            )
        )
    sheets = []
    for sheet in form.sheet:
        first, second = sides(sheet, sheet.size)
        sheets.append(
            Sheet(
                **shared(sheet),
                length_mm=max(first, second),
                width_mm=min(first, second),
                caliper_mm=sheet.caliper_mm,
                buffered=sheet.buffered,
                grain=sheet.grain,
            )
        )
    return Stock(
        boxes=tuple(boxes),
        envelopes=tuple(envelopes),
        folders=tuple(folders),
        sheets=tuple(sheets),
        fillings=tuple(
            Filling(**shared(filling), fills_litres=filling.fills_litres)
            for filling in form.filling
        ),
        bindings=tuple(
            BindingSlack(binding=row.binding, slack_mm=row.slack_mm, remedy=row.remedy)
            for row in form.binding
        ),
        leaf_thickness_mm=tuple(form.leaf_thickness_mm.items()),
        rules=Rules(**form.rules.model_dump()),
        currency=form.currency,
    )


def _to_mm(value: float, unit: Unit) -> float:
    return float(Decimal(str(value)) * MM_PER_INCH) if unit == "inch" else value
