"""Stock, order of care and label sheets: the repository's own tables, else ours."""

from __future__ import annotations

from voicelog.housing.paper.layouts import (
    LabelLayout,
    find_layout,
    load_layouts,
    read_layouts,
)
from voicelog.housing.stock import Stock, load_default_stock, read_stock
from voicelog.housing.triage import Part, load_default_weights, read_weights
from voicelog.settings import Settings


def make_stock(settings: Settings) -> Stock:
    """Return the stock that housing is chosen from: the repository's own table, else ours.

    Raises:
        HousingError: the repository's table can't be used.
    """
    return load_default_stock() if settings.stock_file is None else read_stock(settings.stock_file)


def make_triage_parts(settings: Settings) -> tuple[Part, ...]:
    """Return what makes a volume need care first: the repository's own table, else ours.

    Raises:
        HousingError: the repository's table can't be used.
    """
    if settings.triage_file is None:
        return load_default_weights()
    return read_weights(settings.triage_file)


def make_label_layout(settings: Settings, name: str | None = None) -> LabelLayout:
    """Return the label sheet of this name, else that of the settings.

    Raises:
        HousingError: there is no such sheet, or the repository's table can't be used.
    """
    own = () if settings.label_file is None else read_layouts(settings.label_file)
    return find_layout((*load_layouts(), *own), name or settings.label_layout)
