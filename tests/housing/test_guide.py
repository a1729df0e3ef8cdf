"""The rebuild guide: from it alone, order and placement come back exactly."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.housing.reading_pdf import texts
from tests.housing.volumes import entry, item, volume
from voicelog.domain.entry import Access, Adhesion, Kind, Relation, RelationKind, Side
from voicelog.domain.place import Place
from voicelog.errors import UnusableInput
from voicelog.housing.guide.html import write_html
from voicelog.housing.guide.machine_part import placement_of, read_guide
from voicelog.housing.guide.pdf import print_guide
from voicelog.housing.guide.schematic import draw_side, find_field
from voicelog.housing.guide.views import FindThumbnail, make_guide
from voicelog.housing.volumes import HousedVolume, Numbered, without_private_words
from voicelog.vocabulary import TermField, load_vocabulary
from voicelog.vocabulary.loading import load_cautions, load_closing

CLOSING = load_closing()
MOULD = load_cautions()["mould"]
INSIDE = (Relation(kind=RelationKind.INSIDE, id="e-3"),)
GREEN_BOOK = volume(
    entry(1, "1", blank=True),
    item(2, "2r", "photograph", position="upper left", attachment=("photo corners",),
         caption="the new lamps at the station", date="1952-06-04"),
    item(3, "2v", "envelope", position="centre"),
    item(4, "2v", "greeting card", item=2, relations=INSIDE),
    item(5, "3r", "ticket", position="upper right", enclosure="envelope 1",
         mark="2031-007 vol. 1, 3r, 1", adhesion=Adhesion.LOOSE),
    item(6, "3r", "snapshot", item=2, condition=("missing item",), position="lower right"),
    item(7, "3v", "badge", adhesion=Adhesion.LOOSE),
    item(8, "between 3 and 4", "menu", attachment=("laid in",)),
    entry(9, "4r", condition=("mould",), images=(12,), cautions=("mould",)),
    item(10, "back cover", "label", remark="in pencil"),
    leaves=5, dimensions=(285.8, 355.6), binding="post binding",
)  # fmt: skip


def html_of(made: HousedVolume, find_thumbnail: FindThumbnail = lambda _place: None) -> str:
    guide = make_guide(made, find_thumbnail)
    return write_html(guide, [MOULD], repository="Tarn Valley Record Office", closing=CLOSING)


def pdf_of(made: HousedVolume, find_thumbnail: FindThumbnail = lambda _place: None) -> list[str]:
    guide = make_guide(made, find_thumbnail)
    printed = print_guide(guide, [MOULD], repository="", closing=CLOSING, size_mm=(210, 297))
    return texts(printed.pdf)


class Words(HTMLParser):
    """What a reader sees of a page, and every address in it."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.tags: list[str] = []
        self.addresses: list[str] = []
        self._hidden = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._hidden = tag in {"script", "style"}
        self.addresses += [value or "" for name, value in attrs if name in {"src", "href"}]

    def handle_endtag(self, tag: str) -> None:
        self._hidden = self._hidden and tag not in {"script", "style"}

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.seen.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.seen).split()).replace(" ,", ",").replace(" .", ".")


# --- Rebuilding -----------------------------------------------------------------------


def rows_of(made: HousedVolume) -> list[Numbered]:
    own = [made.own] if made.own is not None else []
    return sorted([*own, *made.rows], key=lambda row: row[0])


def test_somebody_who_never_saw_the_volume_can_put_it_back_together() -> None:
    """From the machine-readable part alone: every entry in order, with its exact placement."""
    rebuilt = read_guide(html_of(GREEN_BOOK))
    assert rebuilt == tuple(placement_of(*row) for row in rows_of(GREEN_BOOK))
    ticket = next(each for each in rebuilt if each.number == 5)
    assert (ticket.leaf, ticket.side, ticket.item) == ("3", Side.RECTO, 1)
    assert (ticket.position, ticket.enclosure) == ("upper right", "envelope 1")
    assert ticket.mark == "2031-007 vol. 1, 3r, 1"


_texts = st.text(max_size=30) | st.sampled_from(
    ["</script>", "<!--<script>", "]]>", "&amp;", "\u2028"]
)
_places = st.sampled_from(
    ["1r", "1v", "2r", "7Ar", "front cover", "flyleaf", "between 2 and 3", "x"]
)
_positions = st.sampled_from([None, "upper left", "centre", "lower right", "overlapping"])


@st.composite
def volumes(draw: st.DrawFn) -> HousedVolume:
    rows = []
    for number in range(1, draw(st.integers(1, 8)) + 1):
        others = st.builds(
            Relation,
            kind=st.sampled_from(RelationKind),
            id=st.integers(1, 9).map(lambda n: f"e-{n}"),
        )
        fields: dict[str, Any] = {
            "kind": draw(st.sampled_from([Kind.ITEM, Kind.LEAF])),
            "item": draw(st.none() | st.integers(1, 5)),
            "item_type": tuple(draw(st.lists(st.sampled_from(["map", "ticket"]), max_size=2))),
            "position": draw(_positions),
            "quantity": draw(st.integers(1, 4)),
            "enclosure": draw(st.none() | st.sampled_from(["envelope 1", "folder 2"])),
            "caption": draw(st.none() | _texts),
            "remark": draw(st.none() | _texts),
            "mark": draw(st.none() | _texts),
            "relations": tuple(draw(st.lists(others, max_size=2))),
            "dimensions": draw(st.none() | st.just((50.0, 900.0)) | st.just((0.0, 1.0))),
            "condition": draw(st.sampled_from([(), ("missing item",)])),
        }
        rows.append(entry(number, draw(_places), **fields))
    return volume(*rows, leaves=draw(st.none() | st.integers(1, 4)), caption=draw(_texts))


@settings(max_examples=30, deadline=None)
@given(volumes())
def test_any_volume_comes_back_from_its_guide(made: HousedVolume) -> None:
    """Whatever was said, in whatever order, with whatever signs in it."""
    html = html_of(made)
    assert read_guide(html) == tuple(placement_of(*row) for row in rows_of(made))


@settings(max_examples=30, deadline=None)
@given(volumes())
def test_every_entry_is_somewhere_in_the_guide(made: HousedVolume) -> None:
    """In a view, between leaves, or among those whose place wasn't said."""
    guide = make_guide(made)
    shown = [row for view in guide.views for page in view.pages for row in page.rows]
    shown += [row for view in guide.views for row in view.inserts]
    assert {entry.id for _, entry in (*shown, *guide.unplaced)} == {
        entry.id for _, entry in made.rows
    }


@pytest.mark.parametrize(
    "html",
    [
        "",
        "<p>something else</p>",
        '<script id="voicelog-guide">{"guide": 1}</script>',
        '<script id="voicelog-guide">{"guide": 1, "entries": [{"id": 1}]}</script>',
        '<script id="voicelog-guide">[</script>',
    ],
)
def test_what_is_no_guide_is_told(html: str) -> None:
    """In one sentence, with its name."""
    with pytest.raises(UnusableInput, match=r"guide\.html is no rebuild guide"):
        read_guide(html, source="guide.html")


def test_a_guide_of_a_later_form_is_told() -> None:
    """Its meaning may have changed."""
    later = html_of(GREEN_BOOK).replace('"guide": 1', '"guide": 2')
    with pytest.raises(UnusableInput, match="written by a later voicelog"):
        read_guide(later)


# --- What a reader sees ---------------------------------------------------------------

TOLD = [
    "photograph, upper left, held by photo corners, 1952-06-04. in place",
    "greeting card. in place. inside the envelope, item 1 (entry 3)",
    "ticket, upper right, loose. removed to envelope 1, marked 2031-007 vol. 1, 3r, 1",
    "snapshot, lower right, missing item. missing already",
    "badge, loose (where on the side wasn't said). loose, without an enclosure yet",
    "menu, laid in. found loose, left where it lay",
    "the new lamps at the station",
    "Found loose between these leaves",
    "remark: in pencil",
    "mould, image 12",
    "post binding",
    "leaf 1 verso",
    MOULD.wording,
]


@pytest.mark.parametrize("told", TOLD)
def test_the_page_tells_where_everything_was(told: str) -> None:
    """What sits where, what was removed to which envelope, what was missing already."""
    assert told in Words(html_of(GREEN_BOOK)).text


@pytest.mark.parametrize("told", TOLD)
def test_the_paper_tells_the_same(told: str) -> None:
    """In the same words, but for capitals and line ends."""

    def plain(text: str) -> str:
        return re.sub(r"[\s.]+", " ", text.lower())

    assert plain(told) in plain(" ".join(pdf_of(GREEN_BOOK)))


def test_a_quiet_opening_takes_one_line() -> None:
    """Blank, or nothing said: there is nothing to draw."""
    assert "leaf 4 verso: nothing said | leaf 5 recto: nothing said" in " ".join(pdf_of(GREEN_BOOK))


def test_the_lead_defers_to_those_who_may_decide() -> None:
    """The guide says where things were; it never instructs."""
    assert CLOSING in Words(html_of(GREEN_BOOK)).text


def test_nothing_that_was_dictated_becomes_markup() -> None:
    """A caption is text, whatever signs are in it."""
    nasty = '<img src=x onerror="alert(1)"></script><script>alert(2)</script>'
    made = volume(item(1, "1r", "map", caption=nasty, remark=nasty, mark=nasty))
    plain = volume(item(1, "1r", "map", caption="a", remark="b", mark="c"))
    assert Words(html_of(made)).tags == Words(html_of(plain)).tags
    assert nasty in Words(html_of(made)).text


def test_nothing_is_loaded_from_anywhere() -> None:
    """No address in the file but pictures that are in it."""
    words = Words(html_of(GREEN_BOOK, lambda _place: jpeg((9, 9, 9))))
    assert all(address.startswith("data:image/jpeg;base64,") for address in words.addresses)
    assert "default-src 'none'" in html_of(GREEN_BOOK)


def jpeg(colour: tuple[int, int, int]) -> bytes:
    out = BytesIO()
    Image.new("RGB", (90, 60), colour).save(out, "JPEG")
    return out.getvalue()


def test_pictures_stand_beside_the_page_that_they_show() -> None:
    """Only where there is one."""
    wanted = Place(leaf="2", side=Side.RECTO)
    html = html_of(GREEN_BOOK, lambda place: jpeg((200, 0, 0)) if place == wanted else None)
    assert html.count("<img ") == 1
    assert 'alt="Picture of leaf 2 recto"' in html


def test_what_is_restricted_keeps_its_place_without_its_words() -> None:
    """Also in the machine-readable part."""
    made = volume(
        item(1, "1r", "report card", caption="marks", remark="two", date="1952",
             access=Access.RESTRICTED, enclosure="envelope 1")
    )  # fmt: skip
    (kept,) = without_private_words([made])
    html = html_of(kept)
    assert "marks" not in html
    assert read_guide(html)[0].enclosure == "envelope 1"


def test_a_side_with_more_than_a_page_of_words_goes_on() -> None:
    """Nothing is cut off at the foot of the paper."""
    rows = [
        item(n, "1r", "map", item=n, caption=f"number {n} " + "at the weir " * 30)
        for n in range(1, 41)
    ]
    pages = pdf_of(volume(*rows, leaves=1))
    together = " ".join(pages)
    assert all(f"number {n} at the weir" in together for n in range(1, 41))
    assert len(pages) > 2


def test_a_number_of_leaves_that_nobody_said_is_not_stated() -> None:
    """The volume may go on behind the last leaf of the log."""
    assert "leaves: 5" in " ".join(pdf_of(GREEN_BOOK))
    unsaid = pdf_of(volume(item(1, "3r", "ticket")))
    assert "leaves: number not said; 3 in this guide" in " ".join(unsaid)


def test_the_same_guide_gives_the_same_bytes() -> None:
    """So that two copies can be compared."""
    assert html_of(GREEN_BOOK) == html_of(GREEN_BOOK)
    guide = make_guide(GREEN_BOOK)
    one, two = (
        print_guide(guide, [MOULD], repository="", closing=CLOSING, size_mm=(210, 297)).pdf
        for _ in range(2)
    )
    assert one == two


# --- Drawings -------------------------------------------------------------------------


def test_every_position_of_the_vocabulary_names_its_own_field() -> None:
    """Nine fields, nine positions; "overlapping" is none."""
    terms = [concept.term for concept in load_vocabulary().of_field(TermField.POSITION)]
    fields = {term: find_field(term) for term in terms}
    assert sorted(field for field in fields.values() if field) == [
        (row, column) for row in range(3) for column in range(3)
    ]
    assert fields["upper left"] == (0, 0)
    assert fields["centre right"] == (1, 2)


@given(
    st.lists(
        st.tuples(_positions, st.none() | st.tuples(st.floats(0, 500), st.floats(0, 500))),
        max_size=14,
    ),
    st.none() | st.tuples(st.floats(40, 600), st.floats(40, 600)),
)
def test_everything_is_drawn_on_the_page(
    wanted: list[tuple[str | None, tuple[float, float] | None]],
    page_mm: tuple[float, float] | None,
) -> None:
    """However large, however many, wherever."""
    rows = [
        item(n, "1r", "map", item=n, position=position, dimensions=size)
        for n, (position, size) in enumerate(wanted, start=1)
    ]
    drawn = draw_side(rows, page_mm)
    assert sorted(each.number for each in drawn) == [number for number, _ in rows]
    for each in drawn:
        assert 0 <= each.left <= each.left + each.width <= 1
        assert 0 <= each.top <= each.top + each.height <= 1
        assert each.width > 0
        assert each.height > 0


def test_an_item_lies_in_the_field_that_was_said() -> None:
    """A small one at the upper right is in the upper right ninth."""
    (drawn,) = draw_side(
        [item(1, "1r", "ticket", position="upper right", dimensions=(30.0, 60.0))], (300, 300)
    )
    assert drawn.left >= 2 / 3
    assert drawn.top + drawn.height <= 1 / 3
    assert (drawn.height, drawn.width) == (0.1, 0.2)
    assert not drawn.is_guessed


def test_a_place_that_was_not_said_is_marked_as_guessed() -> None:
    """In a free field; the drawing is no evidence for it."""
    said, unsaid = draw_side(
        [item(1, "1r", "map", position="upper left"), item(2, "1r", "map", item=2)], None
    )
    assert unsaid.is_guessed
    assert unsaid.left >= 1 / 3
    assert not said.is_guessed


def test_what_lies_inside_another_is_drawn_at_its_place_and_beneath() -> None:
    """The card first, the envelope over it."""
    card, envelope = draw_side(GREEN_BOOK.items[1:3], None)
    assert card.entry.item_type == ("greeting card",)
    assert card.is_beneath
    assert not card.is_guessed
    assert abs(card.left - envelope.left) < 0.15


def test_a_volume_without_a_size_is_drawn_all_the_same() -> None:
    """In the shape of a usual page."""
    assert make_guide(replace(GREEN_BOOK, own=None)).views
    assert "<svg" in html_of(replace(GREEN_BOOK, own=None))
