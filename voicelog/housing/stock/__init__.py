"""The stock that housing is chosen from: a table that the repository edits."""

from voicelog.housing.stock.reading import load_default_stock, parse_stock, read_stock
from voicelog.housing.stock.table import (
    BindingSlack,
    Box,
    Envelope,
    Filling,
    Folder,
    Rules,
    Sheet,
    Stock,
    StockItem,
)

__all__ = [
    "BindingSlack",
    "Box",
    "Envelope",
    "Filling",
    "Folder",
    "Rules",
    "Sheet",
    "Stock",
    "StockItem",
    "load_default_stock",
    "parse_stock",
    "read_stock",
]
