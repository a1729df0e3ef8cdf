"""One volume worked out by hand, every rule on it; the arithmetic stands in the comments.

The green book: post binding, black paper, 285.8 x 355.6 mm (11 1/4 x 14 inch), 24 leaves.
Leaf 2 recto holds a clipping under tape, leaf 5 recto a cyanotype, leaf 9 verso a badge on a
pin; a snapshot (63.5 x 88.9 mm) and a letter (200 x 130 mm) have come off into envelopes 1
and 2 and belong together; envelope 3 holds a ticket of 30 x 60 mm.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.housing.volumes import entry, item, volume
from voicelog.domain.entry import Relation, RelationKind
from voicelog.housing.interleaving import load_interleaving_rules
from voicelog.housing.plan import VolumePlan, plan_volumes
from voicelog.housing.stock import load_default_stock, parse_stock
from voicelog.housing.supplies import add_costs, list_supplies

STOCK = """
currency = "EUR"
[[box]]
name = "small box"
inside = [400, 310, 50]
weight_g = 400
price = 9.50
on_hand = 0
[[box]]
name = "large box"
inside = [610, 460, 60]
weight_g = 900
price = 14
on_hand = 1
[[envelope]]
name = "C7"
inside = [81, 114]
caliper_mm = 0.13
weight_g = 3
price = 0.10
on_hand = 1
[[envelope]]
name = "C5"
inside = [162, 229]
caliper_mm = 0.13
weight_g = 9
price = 0.20
[[folder]]
name = "folder"
inside = [170, 240]
caliper_mm = 0.25
capacity_mm = 10
weight_g = 30
[[sheet]]
name = "buffered A2"
size = [594, 420]
caliper_mm = 0.1
buffered = true
weight_g = 18.7
price = 0.50
[[sheet]]
name = "unbuffered A2"
size = [594, 420]
caliper_mm = 0.1
buffered = false
weight_g = 18.7
[[filling]]
name = "buffer paper"
fills_litres = 1.5
weight_g = 9
"""


@pytest.fixture(scope="module")
def plan() -> VolumePlan:
    """The plan of the volume above."""
    together = (Relation(kind=RelationKind.BELONGS_WITH, id="e-4"),)
    made = volume(
        item(1, "2r", "newspaper clipping", attachment=("cellophane tape",)),
        item(2, "5r", "cyanotype"),
        item(3, "9v", "badge", attachment=("pin",), cautions=("sharp-fastener",)),
        item(4, "11r", "snapshot", dimensions=(63.5, 88.9), enclosure="envelope 1"),
        item(5, "11v", "letter", dimensions=(200.0, 130.0), enclosure="envelope 2",
             relations=together),
        item(6, "14r", "ticket", dimensions=(30.0, 60.0), enclosure="envelope 3"),
        entry(7, "3r", blank=True),
        binding="post binding",
        support="black paper",
        leaves=24,
        dimensions=(285.8, 355.6),
    )  # fmt: skip
    stock = parse_stock(STOCK, origin="the shelf")
    return plan_volumes([made], stock, load_interleaving_rules())[0]


def test_openings_and_sheets(plan: VolumePlan) -> None:
    """24 leaves make 25 openings; three of them carry something that can do harm.

    1v | 2r: the clipping, its tape. 4v | 5r: the cyanotype, so unbuffered. 9v | 10r: badge, pin.
    The three removed items are gone from their pages: none.
    """
    assert plan.interleaving.openings == 25
    assert [(sheet.place, sheet.buffered) for sheet in plan.interleaving.sheets] == [
        ("leaf 1 verso | leaf 2 recto", True),
        ("leaf 4 verso | leaf 5 recto", False),
        ("leaf 9 verso | leaf 10 recto", True),
    ]


def test_openings_that_the_log_does_not_know(plan: VolumePlan) -> None:
    """Known pages: 2r, 3r, 5r, 9v, 11r, 11v, 14r.

    Their openings: 1v|2r, 2v|3r, 4v|5r, 9v|10r, 10v|11r, 11v|12r, 13v|14r. 25 - 7 = 18.
    """
    assert len(plan.interleaving.unknown) == 18


def test_interleaves_are_cut_from_stock(plan: VolumePlan) -> None:
    """A piece is 285.8 - 2 x 2 = 281.8 high and 355.6 - 2 = 353.6 wide.

    From 594 x 420: turned none (353.6 + 353.6 = 707.2), 281.8 along 594 twice (563.6), 353.6
    across 420 once: 2 a sheet. 2 buffered pieces take 1 sheet, 1 unbuffered takes 1. Waste of
    the first: 594 x 420 - 2 x 281.8 x 353.6 = 249,480 - 199,288.96 = 50,191.04 mm2, 20.1 %.
    """
    buffered, unbuffered = plan.cutting
    assert [round(side, 1) for side in buffered.piece_mm] == [281.8, 353.6]
    assert (len(buffered.per_sheet), buffered.sheets, unbuffered.sheets) == (2, 1, 1)
    assert buffered.waste_mm2 == pytest.approx(50_191.04)
    assert buffered.waste_share == pytest.approx(0.2012, abs=0.0001)


def test_bulk_against_the_slack_of_the_posts(plan: VolumePlan) -> None:
    """3 sheets x 0.1 mm = 0.3 mm; screw posts bear 3 mm by the table: nothing to do."""
    assert plan.bulk.added_mm == pytest.approx(0.3)
    assert (plan.bulk.slack_mm, plan.bulk.over_mm) == (3, 0)


def test_thickness_is_estimated_where_nobody_said_it(plan: VolumePlan) -> None:
    """24 leaves x 0.25 + 2 covers x 3 + 3 pieces still there x 0.3 = 6 + 6 + 0.9 = 12.9 mm."""
    assert plan.thickness is not None
    assert plan.thickness.is_estimated
    assert plan.thickness.mm == pytest.approx(12.9)


def test_envelopes(plan: VolumePlan) -> None:
    """63.5 + 12 = 75.5 x 100.9 goes into C7; 212 x 142 into C5; 42 x 72 into C7."""
    names = [need.envelope.name for need in plan.envelopes if need.envelope is not None]
    assert names == ["C7", "C5", "C7"]


def test_one_folder_holds_them_in_order(plan: VolumePlan) -> None:
    """Each is 2 x 0.13 + 0.3 = 0.56 mm, 1.68 together, in a folder of 2 x 0.25: 2.18 mm."""
    (folder,) = plan.folders
    assert [need.label for need in folder.envelopes] == ["envelope 1", "envelope 2", "envelope 3"]
    assert folder.contents_mm == pytest.approx(1.68)
    assert folder.thickness_mm == pytest.approx(2.18)


def test_the_box_takes_the_folder_beside_the_volume(plan: VolumePlan) -> None:
    """Volume 355.6 x 285.8, 12.9 + 0.3 = 13.2 thick; folder 240 x 170.

    Small box, 400 x 310: 355.6 + 170 + 3 x 3 = 534.6 is too long, so is 285.8 + 170 + 9 =
    464.8 for 400 or 310. Large box, 610 x 460: 534.6 <= 610 and 285.8 + 6 <= 460. Its room is
    610 x 460 x 60 = 16.836 litres, less 355.6 x 285.8 x 13.2 = 1.341524 and 240 x 170 x 2.18 =
    0.088944: 15.405532 litres are empty, 11 sheets of 1.5 litres.
    """
    (filled,) = plan.boxes
    assert filled.choice.box.name == "large box"
    assert filled.choice.void_mm3 == pytest.approx(15_405_531, abs=1_000)
    assert filled.filling_sheets == 11


def test_the_weight_of_the_filled_box(plan: VolumePlan) -> None:
    """In grams, all estimated from area, volume and the stock table.

    Box 900; volume 1,341.52 cm3 x 0.8 = 1,073.2; 3 pieces of 281.8 x 353.6 of paper that weighs
    18.7 for 594 x 420: 3 x 99,644.48 / 249,480 x 18.7 = 22.4; folder 30, envelopes 3 + 9 + 3 =
    15; 11 sheets of filling x 9 = 99. Together 2,139.6.
    """
    (filled,) = plan.boxes
    assert filled.weight_g == pytest.approx(2_139.6, abs=0.5)
    assert "heavy-box" not in plan.cautions


def test_cautions_come_along(plan: VolumePlan) -> None:
    """What the log raised for this volume, each once."""
    assert plan.cautions == ("sharp-fastener",)


def test_the_supply_list(plan: VolumePlan) -> None:
    """Two such volumes take 2 large boxes (1 there, 1 short) and 4 C7 (1 there, 3 short).

    Costs: 2 x 14 + 4 x 0.10 + 2 x 0.20 + 2 x 0.50 = 29.80; three things have no price.
    """
    stock = parse_stock(STOCK, origin="the shelf")
    supplies = list_supplies([plan.needs(), plan.needs()], stock)
    assert [(each.item.name, each.needed, each.short) for each in supplies] == [
        ("large box", 2, 1),
        ("C7", 4, 3),
        ("C5", 2, 0),
        ("folder", 2, 0),
        ("buffered A2", 2, 0),
        ("unbuffered A2", 2, 0),
        ("buffer paper", 22, 0),
    ]
    assert add_costs(supplies) == (Decimal("29.80"), 3)


# --- Where something is missing or too much ---------------------------------------------


def planned(*rows: object, stock: str = "", **fields: object) -> VolumePlan:
    """Return the plan of a volume of card, by the default stock or another."""
    base = {"dimensions": (200.0, 150.0), "leaves": 10, "support": "card stock"}
    made = volume(*rows, **{**base, **fields})  # type: ignore[arg-type]
    table = parse_stock(stock, origin="a shelf") if stock else load_default_stock()
    return plan_volumes([made], table, load_interleaving_rules())[0]


def test_a_thickness_that_was_said_is_taken() -> None:
    """What is left of "8 by 6 by 2 inches" is in the remark."""
    found = planned(remark="two inches").thickness
    assert found is not None
    assert (found.mm, found.is_estimated) == (50.8, False)


def test_too_much_bulk_is_told_with_a_remedy() -> None:
    """16 sheets x 0.1 mm = 1.6 mm, 0.1 mm more than a sewn binding bears."""
    rows = [item(n, f"{n}r", "map") for n in range(1, 17)]
    plan = planned(*rows, leaves=16, binding="sewn binding")
    assert plan.bulk.over_mm == pytest.approx(0.1)
    assert any("0.1 mm more than the binding bears" in remark for remark in plan.remarks)


def test_bulk_is_told_also_where_no_sheet_could_be_chosen() -> None:
    """Two sheets of the thickest buffered paper in stock, 0.1 mm each."""
    plan = planned(item(1, "1r", "map"), item(2, "5r", "map"), dimensions=None)
    assert plan.cutting == ()
    assert plan.bulk.added_mm == pytest.approx(0.2)


def test_a_heavy_box_gets_the_caution() -> None:
    """600 x 500 x 100 mm are 30,000 cm3 x 0.8 = 24 kg; from 16 kg on a box is heavy."""
    plan = planned(dimensions=(500.0, 600.0), remark="100 mm thick")
    assert plan.boxes[0].weight_g > 24_000
    assert plan.cautions == ("heavy-box",)


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"dimensions": None}, "The size of the volume isn't in the log"),
        ({"dimensions": (0.0, 150.0)}, "A volume of 0 x 150 mm can't be right"),
        ({"dimensions": (11.0, 14.0)}, "A volume of 11 x 14 mm can't be right"),
        ({"leaves": None}, "Neither a thickness nor a number of leaves"),
        ({"support": None}, "Neither a thickness nor a number of leaves"),
        ({"dimensions": (2000.0, 900.0)}, "lacks 1244.0 mm in length and 296.4 mm in width"),
    ],
)
def test_what_cannot_be_worked_out_is_told(fields: dict[str, object], told: str) -> None:
    """2000 + 6 - 762 = 1244 mm; 900 + 6 - 609.6 = 296.4 mm."""
    plan = planned(**fields)
    assert plan.boxes == ()
    assert any(told in remark for remark in plan.remarks)


def test_an_empty_shelf_gives_sentences_and_no_failure() -> None:
    """Every kind of thing that is missing is named."""
    rows = (
        item(1, "1r", "map"),
        item(2, "2r", "ticket", dimensions=(30.0, 60.0), enclosure="envelope 1"),
    )
    plan = planned(*rows, stock="currency = ''")
    assert plan.needs() == {}
    assert [need.reason for need in plan.envelopes] == ["the stock lists no envelopes"]
    told = " ".join(plan.remarks)
    assert "the stock lists no buffered sheets" in told
    assert "the stock lists no boxes" in told


def test_folders_that_no_box_takes_beside_the_volume_get_their_own() -> None:
    """Never on the volume; the plan asks to keep both boxes together."""
    rows = (item(1, "1r", "map", dimensions=(280.0, 400.0), enclosure="envelope 1"),)
    plan = planned(*rows, dimensions=(500.0, 600.0))
    assert [filled.holds for filled in plan.boxes] == [("the volume",), ("1 folder",)]
    assert any("Keep both together" in remark for remark in plan.remarks)
