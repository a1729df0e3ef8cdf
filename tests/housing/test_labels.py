"""Labels and paper: what stands on them, read back from the page."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import ImageChops

from tests.housing.reading_pdf import codes, render, size_mm, texts
from tests.housing.volumes import entry, item, volume
from voicelog.domain.entry import Access, Adhesion
from voicelog.errors import HousingError
from voicelog.housing.interleaving import load_interleaving_rules
from voicelog.housing.paper.box_paper import print_box_paper
from voicelog.housing.paper.label_sheets import print_alignment, print_labels
from voicelog.housing.paper.labels import NEVER_ON_THE_ITEM, Label, make_labels
from voicelog.housing.paper.layouts import find_layout, load_layouts, parse_layouts
from voicelog.housing.paper.preview import draw_preview
from voicelog.housing.paper.ranking_page import print_ranking
from voicelog.housing.plan import VolumePlan, plan_volumes
from voicelog.housing.stock import load_default_stock
from voicelog.housing.triage import load_default_weights, rank_volumes
from voicelog.housing.volumes import without_private_words
from voicelog.vocabulary import load_vocabulary
from voicelog.vocabulary.loading import load_closing

VOCABULARY = load_vocabulary()
CLOSING = load_closing()
LAYOUTS = load_layouts()
GREEN_BOOK = volume(
    item(1, "2r", "newspaper clipping"),
    item(
        2, "14r", "ticket", item=2, enclosure="envelope 7", dimensions=(30.0, 60.0),
        caption="admit one, winter supper", date="1952-06-04", mark="2031-007 vol. 1, 14r, 2",
    ),
    item(3, "14v", "negative", enclosure="sleeve 1"),
    item(4, "15r", "badge", adhesion=Adhesion.LOOSE, dimensions=(40.0, 40.0)),
    item(
        5, "16r", "report card", enclosure="envelope 8", dimensions=(150.0, 100.0),
        caption="marks of the winter term", access=Access.RESTRICTED,
    ),
    binding="post binding", support="black paper", leaves=24, dimensions=(285.8, 355.6),
    action=("boxed",), enclosure="box 1", cautions=("mould",),
)  # fmt: skip


def plans() -> tuple[VolumePlan, ...]:
    return plan_volumes([GREEN_BOOK], load_default_stock(), load_interleaving_rules())


def make_label(caption: str = "", **fields: object) -> Label:
    base: dict[str, object] = {
        "code": "6f0c1a52-0000-5000-8000-000000000001",
        "heading": "envelope 7",
        "mark": "2031-007 vol. 1, 14r, 2",
        "volume": "2031-007 · volume 1, the green book",
        "place": "leaf 14 recto, item 2",
        "what": "ticket, 1952-06-04",
        "caption": caption,
        "cautions": (),
        "note": NEVER_ON_THE_ITEM,
        "entries": (2,),
    }
    return Label(**{**base, **fields})  # type: ignore[arg-type]


def print_one(label: Label, layout: str = "a4-3x7") -> tuple[bytes, bool]:
    """Return the sheet of one label, and whether it was shortened."""
    sheets = print_labels([label], find_layout(LAYOUTS, layout), VOCABULARY, closing=CLOSING)
    return sheets.pdf, bool(sheets.shortened)


# --- The words ------------------------------------------------------------------------


def test_every_enclosure_gets_a_label_in_order_of_appearance_then_the_folders() -> None:
    """Also what is loose and has no envelope yet: its number is written in by hand."""
    labels = make_labels(plans(), VOCABULARY)
    assert [label.heading for label in labels] == [
        "envelope 7",
        "sleeve 1",
        "envelope ______",
        "envelope 8",
        "folder 1",
    ]
    assert [label.code for label in labels] == ["e-2", "e-3", "e-4", "e-5", "e-900;folder=1"]


def test_a_label_says_what_puts_the_item_back() -> None:
    """Mark, accession, volume as the donor calls it, leaf and side, order, type, caption, date."""
    label = make_labels(plans(), VOCABULARY)[0]
    assert label.mark == "2031-007 vol. 1, 14r, 2"
    assert label.volume == "2031-007 · volume 1, the green book"
    assert label.place == "leaf 14 recto, item 2"
    assert label.what == "ticket, 1952-06-04"
    assert label.caption == "admit one, winter supper"


def test_a_mark_that_was_not_said_yet_is_the_one_to_write() -> None:
    """The label is there before the item goes in."""
    assert make_labels(plans(), VOCABULARY)[2].mark == "2031-007 vol. 1, 15r, 1"


def test_cautions_stand_on_the_label_of_every_item_that_calls_for_one() -> None:
    """By concept, not only where the log showed it first."""
    sleeve = make_labels(plans(), VOCABULARY)[1]
    assert sleeve.cautions == ("nitrate-film", "acetate-film")


def test_labels_for_some_entries_only() -> None:
    """In time for what was just taken off; no folders then."""
    labels = make_labels(plans(), VOCABULARY, only=frozenset({3, 4}))
    assert [label.heading for label in labels] == ["sleeve 1", "envelope ______"]


def test_restricted_entries_keep_their_place_but_not_their_words() -> None:
    """Without place, mark and enclosure nothing could be put back."""
    (kept,) = without_private_words([GREEN_BOOK])
    made = plan_volumes([kept], load_default_stock(), load_interleaving_rules())
    label = make_labels(made, VOCABULARY)[3]
    assert label.caption == ""
    assert label.what == "report card, access restricted"
    assert label.mark == "2031-007 vol. 1, 16r, 1"


def test_folders_are_numbered_behind_those_of_the_handler() -> None:
    """The log has a folder 4 already."""
    made = volume(
        item(1, "1r", "map", enclosure="folder 4"),
        item(2, "2r", "ticket", enclosure="envelope 1", dimensions=(30.0, 60.0)),
    )
    labels = make_labels(
        plan_volumes([made], load_default_stock(), load_interleaving_rules()), VOCABULARY
    )
    assert [label.heading for label in labels] == ["folder 4", "envelope 1", "folder 5"]


# --- On the page ----------------------------------------------------------------------


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_codes_are_read_back_from_every_generic_sheet(layout: object) -> None:
    """QR codes in the order of the labels; decoded by zxing-cpp from the rendered page."""
    assert isinstance(layout, type(LAYOUTS[0]))
    labels = [
        make_label(f"caption {n}", code=f"6f0c1a52-0000-5000-8000-{n:012d}") for n in range(25)
    ]
    sheets = print_labels(labels, layout, VOCABULARY, closing=CLOSING)
    assert codes(sheets.pdf) == [("QRCode", label.code) for label in labels]
    assert sheets.pages == -(-25 // layout.per_page)
    assert size_mm(sheets.pdf) == pytest.approx(
        (layout.page_width_mm, layout.page_height_mm), abs=0.1
    )


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_nothing_is_printed_beyond_a_label(layout: object) -> None:
    """A label full of text, with every caution, leaves the gaps between labels white."""
    assert isinstance(layout, type(LAYOUTS[0]))
    label = make_label("Lamplighters " * 60, cautions=("mould", "nitrate-film"))
    plain = replace(layout, cut_marks=False)
    sheets = print_labels([label], plain, VOCABULARY, closing=CLOSING)
    (picture,) = render(sheets.pdf, dots_per_inch=100)
    left, top, right, bottom = ImageChops.invert(picture).getbbox() or (0, 0, 0, 0)
    scale = 100 / 25.4
    assert left >= layout.left_mm * scale - 1
    assert top >= layout.top_mm * scale - 1
    assert right <= (layout.left_mm + layout.label_width_mm) * scale + 1
    assert bottom <= (layout.top_mm + layout.label_height_mm) * scale + 1


def test_used_labels_of_the_first_sheet_are_skipped() -> None:
    """A sheet is used until it is used up."""
    layout = find_layout(LAYOUTS, "a4-3x7")
    sheets = print_labels([make_label()] * 3, layout, VOCABULARY, closing=CLOSING, skip=20)
    assert sheets.pages == 2
    assert len(codes(sheets.pdf)) == 3


def test_a_label_says_that_it_never_goes_on_the_item() -> None:
    """Nothing adhesive goes on an item (bench practice)."""
    pdf, _ = print_one(make_label())
    assert "Never on the item." in texts(pdf)[0]


def test_cautions_end_in_the_closing_sentence() -> None:
    """Also on the smallest label, where there is no room for more."""
    pdf, _ = print_one(make_label(cautions=("mould",)), "letter-3x10")
    assert f"Caution: mould. {CLOSING}" in texts(pdf)[0]


def test_a_long_caption_is_shortened_at_a_word_and_told() -> None:
    """The list has it in full."""
    caption = "the names of all who came to the picnic at the weir " * 5
    pdf, shortened = print_one(make_label(caption))
    assert shortened
    printed = texts(pdf)[0]
    shown = printed[printed.index("“") + 1 : printed.index("…")].replace("\n", " ")
    assert caption.startswith(shown.strip())
    assert caption[len(shown.strip())] == " "


def test_characters_that_cannot_be_printed_are_told() -> None:
    """With the label; the others are in order."""
    labels = [make_label("a fish 魚", heading="envelope 8"), make_label("Озеро, שלום, صورة")]
    layout = find_layout(LAYOUTS, "a4-3x7")
    sheets = print_labels(labels, layout, VOCABULARY, closing=CLOSING)
    assert [label.heading for label in sheets.unprinted] == ["envelope 8"]


def test_a_short_caption_is_not() -> None:
    """And nothing is told."""
    pdf, shortened = print_one(make_label("admit one"))
    assert not shortened
    assert "…" not in texts(pdf)[0]


@pytest.mark.parametrize(
    ("caption", "printed"),
    [
        ("Zoë’s café, 1½ Kč", "Zoë’s café, 1½ Kč"),
        ("Ο Αλέξης στη λίμνη", "Ο Αλέξης στη λίμνη"),
        ("Озеро, июнь", "Озеро, июнь"),
        ("line\none\tand \x07two\u202e", "line one and two"),
        ("a fish 魚 and 🎷", "a fish \ufffd and \ufffd"),
    ],
)
def test_captions_are_printed_in_their_script(caption: str, printed: str) -> None:
    """What no font has is seen to be missing; what steers text is left out."""
    pdf, _ = print_one(make_label(caption), "a4-2x4")
    assert printed in texts(pdf)[0]


@pytest.mark.parametrize("caption", ["שלום לכולם", "صورة من النزهة"])
def test_right_to_left_captions_stand_at_the_right(caption: str) -> None:
    """Ink of the caption ends where the column ends, and the words run leftwards."""
    with_caption, _ = print_one(make_label(caption), "a4-2x4")
    without, _ = print_one(make_label(), "a4-2x4")
    (one,) = render(with_caption, dots_per_inch=100)
    (other,) = render(without, dots_per_inch=100)
    left, _, right, _ = ImageChops.difference(one, other).getbbox() or (0, 0, 0, 0)
    label_left = 4.65 / 25.4 * 100
    assert left > label_left + 100
    assert right > label_left + 200


def print_everything() -> str:
    """Return the checksum of all paper of the green book."""
    labels = make_labels(plans(), VOCABULARY)
    sheets = print_labels(labels, find_layout(LAYOUTS, "a4-3x7"), VOCABULARY, closing=CLOSING)
    made = print_box_paper(plans(), labels, VOCABULARY, size_mm=(210, 297))
    return hashlib.sha256(sheets.pdf + made.pdf).hexdigest()


def test_the_same_log_gives_the_same_bytes() -> None:
    """In another process, with another order of sets: a label printed again is no new label."""
    script = "from tests.housing.test_labels import print_everything; print(print_everything())"
    other = subprocess.run(
        [sys.executable, "-c", script],
        env={**os.environ, "PYTHONHASHSEED": "1"},
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    assert other.stdout.strip() == print_everything()


def test_box_paper_has_both_box_labels_with_codes_that_are_read_back() -> None:
    """QR on the edge that faces out, Code 128 on the lid; both say the same."""
    made = print_box_paper(
        plans(), make_labels(plans(), VOCABULARY), VOCABULARY, size_mm=(210, 297)
    )
    assert ("QRCode", "e-900;box=1") in codes(made.pdf)
    assert ("Code128", "e-900;box=1") in codes(made.pdf)
    pages = texts(made.pdf)
    assert "2031-007 box 1" in pages[0]
    assert "the volume, 1 folder, 3 envelopes" in pages[0]
    assert VOCABULARY.cautions["mould"].wording in pages[0]


def test_codes_with_real_ids_are_read_back() -> None:
    """Ids are as long as those that logs have (RFC 9562): 36 letters, 42 with the box."""
    id_ = "610dea06-7422-5e2d-9cf4-0f5b3f861711"
    assert GREEN_BOOK.own is not None
    number, own = GREEN_BOOK.own
    made = replace(GREEN_BOOK, own=(number, replace(own, id=id_)))
    planned = plan_volumes([made], load_default_stock(), load_interleaving_rules())
    printed = print_box_paper(planned, [], VOCABULARY, size_mm=(210, 297))
    assert codes(printed.pdf) == [("QRCode", f"{id_};box=1"), ("Code128", f"{id_};box=1")]


def test_the_list_has_every_text_in_full() -> None:
    """However long, over as many pages as it takes."""
    caption = "the names of all who came to the picnic at the weir " * 150
    labels = [make_label(caption.strip(), cautions=("mould",)), make_label("the last one")]
    made = print_box_paper([], labels, VOCABULARY, size_mm=(210, 297))
    together = re.sub(r"list, page \d+ ", "", " ".join(texts(made.pdf)))
    assert together.count("the names of all who came") == 150
    assert "the last one" in together
    assert made.pages > 1


def test_every_interleaf_has_its_slip() -> None:
    """With the place, the kind of paper and why."""
    made = print_box_paper(plans(), [], VOCABULARY, size_mm=(210, 297))
    slip = "interleaf 1 of 1, buffered leaf 1 verso | leaf 2 recto"
    assert slip in " ".join(texts(made.pdf))


def test_the_ranking_shows_every_volume_with_its_sum() -> None:
    """And the key to the parts."""
    mouldy = volume(entry(1, "1r", condition=("mould",)))
    ranking = rank_volumes([GREEN_BOOK, mouldy], load_default_weights())
    (page,) = texts(print_ranking(ranking, size_mm=(210, 297)))
    assert "1. 2031-007 · volume 1, the green book: 25.0" in page
    assert "self-adhesive pages" in page
    assert texts(print_ranking([], size_mm=(210, 297))) == ["Care first"]


def test_the_preview_is_a_picture_of_the_page() -> None:
    """A PNG of its first page."""
    pdf, _ = print_one(make_label())
    assert draw_preview(pdf).startswith(b"\x89PNG")


# --- Label sheets ---------------------------------------------------------------------

SHEET = """
[[layout]]
name = "ours"
page = [210, 297]
columns = 2
rows = 3
label = [90, 60]
left = 10
top = 10
across = 95
down = 70
"""


def test_an_alignment_page_outlines_every_label() -> None:
    """The outline of the last one lies where the table says."""
    (layout,) = parse_layouts(SHEET, origin="ours")
    (picture,) = render(print_alignment(layout), dots_per_inch=254)
    left, top = layout.corner_mm(5)
    assert (left, top) == (105, 150)
    for x, y in ((left, top + 30), (left + 90, top + 30), (left + 45, top), (left + 45, top + 60)):
        spot = picture.crop(
            (round(x * 10) - 3, round(y * 10) - 3, round(x * 10) + 4, round(y * 10) + 4)
        )
        assert spot.getextrema()[0] < 200


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("across = 95", "across = 85"), "labels of 90 mm overlap at 85 mm across"),
        (("down = 70", "down = 50"), "labels of 60 mm overlap at 50 mm down"),
        (("left = 10", "left = 30"), "the last column lies 5.0 mm off the sheet"),
        (("rows = 3", "rows = 5"), "the last row lies 53.0 mm off the sheet"),
        (("[90, 60]", "[30, 10]"), "has no room for a mark"),
        (("[90, 60]", "[0, 60]"), r"layout\.0\.label\.0"),
        (("columns = 2", "columns = 0"), r"layout\.0\.columns"),
        (("[[layout]]", "[[layout"), "not valid TOML"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused(change: tuple[str, str], told: str) -> None:
    """With by how much."""
    with pytest.raises(HousingError, match=told):
        parse_layouts(SHEET.replace(*change), origin="ours")


def test_an_unknown_sheet_is_told_with_those_there_are() -> None:
    """In the order of the table."""
    with pytest.raises(HousingError, match="no label sheet 'a5'; there is a4-3x7, a4-2x7"):
        find_layout(LAYOUTS, "a5")


def test_interleaves_that_cannot_be_cut_yet_are_counted_on_the_bench_page() -> None:
    """Without the volume's size nothing is cut, but that sheets are wanted is told."""
    rows = (item(1, "2r", "newspaper clipping"), entry(2, "1v", blank=True))
    stock, rules = load_default_stock(), load_interleaving_rules()
    planned = plan_volumes([volume(*rows, leaves=3)], stock, rules)
    printed = " ".join(texts(print_box_paper(planned, [], VOCABULARY, size_mm=(210, 297)).pdf))
    assert "Interleaving 1 buffered, not cut yet: see what is to be settled." in printed
    assert "To be settled" in printed
