"""The stock table: what ships, what a repository may write, what is refused."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import papersize
import pytest
from reportlab.lib import pagesizes
from reportlab.lib.units import mm

from voicelog.errors import HousingError
from voicelog.housing.stock import load_default_stock, parse_stock, read_stock
from voicelog.vocabulary import TermField, load_vocabulary

# ISO 216 and ISO 269 in mm, read in a copy of the tables (kids.net.au, "ISO 216").
ISO_ENVELOPES = {
    "envelope C7": (81, 114),
    "envelope C6": (114, 162),
    "envelope DL": (110, 220),
    "envelope C5": (162, 229),
    "envelope B5": (176, 250),
    "envelope C4": (229, 324),
    "envelope B4": (250, 353),
    "envelope C3": (324, 458),
}
TENTH_MM = 0.1
BOX = """
[[box]]
name = "tray"
inside = [14.9375, 12, 10]
unit = "inch"
weight_g = 500
price = 4.20
on_hand = 3
"""


def test_iso_envelopes_have_the_sizes_of_the_standard() -> None:
    """Every envelope that names ISO as its source, and no other, is in the list."""
    found = {
        envelope.name: (envelope.height_mm, envelope.width_mm)
        for envelope in load_default_stock().envelopes
        if envelope.source.startswith("ISO")
    }
    assert found == ISO_ENVELOPES


@pytest.mark.parametrize(
    ("name", "paper"),
    [
        ("envelope C7", "c7"),
        ("envelope C6", "c6"),
        ("envelope C5", "c5"),
        ("envelope B5", "b5"),
        ("envelope C4", "c4"),
        ("envelope C3", "c3"),
        ("buffered sheet A2", "a2"),
        ("unbuffered sheet A2", "a2"),
        ("buffered sheet ANSI B, 11 x 17 inch", "tabloid"),
    ],
)
def test_standard_sizes_agree_with_somebody_elses_table(name: str, paper: str) -> None:
    """The table is that of the package papersize, which knows nothing of ours.

    It gives B4 as 250 x 352 mm; ISO 216 and reportlab (see the next test) have 353.
    """
    theirs = sorted(float(side) for side in papersize.parse_papersize(paper, "mm"))
    item = next(each for each in load_default_stock().items() if each.name == name)
    sides = ("height_mm", "width_mm", "length_mm")
    ours = sorted(getattr(item, side) for side in sides if hasattr(item, side))
    assert ours == pytest.approx(theirs, abs=TENTH_MM)


def test_iso_sizes_agree_with_reportlab() -> None:
    """A second table of somebody else's, for every A, B and C size in the stock."""
    checked = 0
    for item in load_default_stock().items():
        found = re.search(r"\b([ABC]\d)$", item.name)
        if found and item.source.startswith("ISO"):
            theirs = sorted(side / mm for side in getattr(pagesizes, found[1]))
            sides = ("height_mm", "width_mm", "length_mm")
            ours = sorted(getattr(item, side) for side in sides if hasattr(item, side))
            assert ours == pytest.approx(theirs)
            checked += 1
    assert checked == 9


def test_inches_become_millimetres_exactly() -> None:
    """14 15/16 inch is 379.4125 mm (1 inch = 25.4 mm since 1959); the longer side is the length."""
    (box,) = parse_stock(BOX, origin="ours").boxes
    assert (box.length_mm, box.width_mm, box.depth_mm) == (379.4125, 304.8, 254.0)
    assert (box.price, box.on_hand) == (Decimal("4.2"), 3)


def test_every_binding_and_support_of_the_vocabulary_is_in_the_default_table() -> None:
    """Otherwise its bulk or thickness could never be worked out."""
    stock = load_default_stock()
    vocabulary = load_vocabulary()
    bindings = {concept.term for concept in vocabulary.of_field(TermField.BINDING)}
    supports = {concept.term for concept in vocabulary.of_field(TermField.SUPPORT)}
    assert {each.binding for each in stock.bindings} == bindings
    assert dict(stock.leaf_thickness_mm).keys() == supports


def test_a_table_of_boxes_alone_keeps_the_rules_that_ship() -> None:
    """Somebody who lists only boxes gets no envelopes, but the usual measures of care."""
    stock = parse_stock(BOX, origin="ours")
    assert stock.envelopes == ()
    assert stock.rules == load_default_stock().rules
    assert stock.bindings == load_default_stock().bindings


def test_one_changed_rule_leaves_the_others() -> None:
    """A margin of one's own is no reason to write down everything."""
    stock = parse_stock("[rules]\nenvelope_margin_mm = 10\n", origin="ours")
    assert stock.rules.envelope_margin_mm == 10
    assert stock.rules.box_clearance_mm == load_default_stock().rules.box_clearance_mm


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("[14.9375, 12, 10]", "[0, 12, 10]"), r"box tray, inside\.0: .* \(not 0"),
        (("[14.9375, 12, 10]", "[-3, 12, 10]"), r"box tray, inside\.0: .* \(not -3"),
        (("[14.9375, 12, 10]", "[14000, 12, 10]"), r"tray: a side of 355600 mm is outside"),
        (("[14.9375, 12, 10]", "[nan, 12, 10]"), r"box tray, inside\.0: input should be"),
        (("[14.9375, 12, 10]", "[14, 12]"), r"box tray, inside\.2: field required"),
        (('"inch"', '"furlong"'), r"box tray, unit: input should be 'mm' or 'inch'"),
        (("4.20", "-1"), r"box tray, price: input should be greater than or equal to 0"),
        (("on_hand = 3", "on_hand = -3"), r"box tray, on_hand: .* \(not -3\)"),
        (("on_hand = 3", "colour = 3"), r"box tray, colour: extra inputs are not permitted"),
        (("[[box]]", "[[crate]]"), r"crate: extra inputs are not permitted"),
        (("[[box]]", "[[box"), r"ours is not valid TOML"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_named_with_its_place(change: tuple[str, str], told: str) -> None:
    """The row, the value, and what was wrong with it."""
    with pytest.raises(HousingError, match=told):
        parse_stock(BOX.replace(*change), origin="ours")


def test_all_problems_are_told_at_once_and_the_rest_counted() -> None:
    """Up to five by name."""
    rows = "".join(BOX.replace("tray", f"tray {n}").replace("14.9375", "0") for n in range(7))
    with pytest.raises(HousingError, match=r"tray 0.*tray 4.*; and 2 more\. Correct"):
        parse_stock(rows, origin="ours")


def test_two_things_of_one_name_are_refused() -> None:
    """The supply list couldn't tell them apart."""
    with pytest.raises(HousingError, match="tray: stands there 2 times"):
        parse_stock(BOX + BOX, origin="ours")


def test_a_table_that_is_not_there_is_told_with_the_setting(tmp_path: Path) -> None:
    """So that one knows where to correct it."""
    with pytest.raises(HousingError, match="correct the setting stock_file"):
        read_stock(tmp_path / "none.toml")


def test_a_table_in_another_encoding_is_told(tmp_path: Path) -> None:
    """UTF-16 is what some editors write."""
    (tmp_path / "stock.toml").write_bytes(BOX.encode("utf-16"))
    with pytest.raises(HousingError, match="not UTF-8"):
        read_stock(tmp_path / "stock.toml")
