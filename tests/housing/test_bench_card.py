"""The bench card: one page, and nothing on it that the reader wouldn't understand."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from tests.housing.reading_pdf import size_mm, texts
from voicelog.domain.entry import Entry, Status
from voicelog.domain.note import Note
from voicelog.domain.statement import Order
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.housing.paper.bench_card import load_sections, print_bench_card, wording_of
from voicelog.session.live.orders import Orders, find_orders
from voicelog.vocabulary import Concept, TermField, Vocabulary, load_vocabulary
from voicelog.vocabulary.inflection import in_american, in_british

VOCABULARY = load_vocabulary()
A4_MM = (210.0, 297.0)
LETTER_MM = (215.9, 279.4)
ON_THE_LEAF = ("accession twenty thirty one dash zero zero seven", "volume one", "leaf fourteen")
WITH_AN_ITEM = (*ON_THE_LEAF, "a menu, secure")
# What each wording gives, said where the first column says one is.
GIVES: tuple[tuple[tuple[str, ...], str, dict[str, Any]], ...] = (
    (
        ("accession twenty thirty one dash zero zero seven", "volume one, the green book"),
        "post binding",
        {"accession": "2031-007", "volume": "1", "binding": "post binding"},
    ),
    ((), "accession twenty thirty one dash zero zero seven", {"accession": "2031-007"}),
    (ON_THE_LEAF[:1], "volume one, the green book", {"volume_name": "the green book"}),
    (ON_THE_LEAF[:2], "black paper", {"support": "black paper"}),
    (ON_THE_LEAF[:2], "forty leaves", {"leaves": 40}),
    (ON_THE_LEAF, "front cover", {"leaf": "front cover", "side": None}),
    (ON_THE_LEAF, "inside front cover", {"leaf": "inside front cover", "side": None}),
    (ON_THE_LEAF, "flyleaf", {"leaf": "flyleaf", "side": "recto"}),
    (ON_THE_LEAF[:2], "leaf fourteen", {"leaf": "14", "side": "recto"}),
    (ON_THE_LEAF, "verso", {"leaf": "14", "side": "verso"}),
    ((*ON_THE_LEAF, "verso"), "recto", {"leaf": "14", "side": "recto"}),
    (ON_THE_LEAF, "next leaf", {"leaf": "15", "side": "recto"}),
    (ON_THE_LEAF, "turn over", {"leaf": "14", "side": "verso"}),
    ((*ON_THE_LEAF, "verso"), "next page", {"leaf": "15", "side": "recto"}),
    (ON_THE_LEAF[:2], "page twenty seven", {"leaf": "14", "side": "recto"}),
    ((*ON_THE_LEAF, "verso"), "facing page", {"leaf": "15", "side": "recto"}),
    (
        ON_THE_LEAF,
        "between leaves twelve and thirteen",
        {"leaf": "between 12 and 13", "side": None},
    ),
    (ON_THE_LEAF, "next leaf, blank", {"leaf": "15", "side": "recto", "blank": True}),
    (ON_THE_LEAF, "blank both sides", {"leaf": "14", "side": None, "blank": True}),
    (
        ON_THE_LEAF,
        "a postcard, photo corners, yellowed",
        {
            "item_type": ("postcard",),
            "attachment": ("photo corners",),
            "condition": ("yellowed",),
        },
    ),
    (ON_THE_LEAF, "two tickets", {"item_type": ("ticket",), "quantity": 2}),
    (ON_THE_LEAF, "a clipping and a menu", {"item": 2, "item_type": ("menu",)}),
    (WITH_AN_ITEM, "another one, the same", {"item": 2, "adhesion": "secure"}),
    (WITH_AN_ITEM, "behind it, a letter", {"item": 2, "item_type": ("letter",)}),
    (WITH_AN_ITEM, "at upper left", {"position": "upper left"}),
    (WITH_AN_ITEM, "image twenty seven", {"images": (27,)}),
    (WITH_AN_ITEM, "caption reads admit one", {"caption": "admit one"}),
    (WITH_AN_ITEM, "dated June fourth nineteen fifty two", {"date": "1952-06-04"}),
    (WITH_AN_ITEM, "about nineteen sixty", {"date": "1960~"}),
    (WITH_AN_ITEM, "the fifties", {"date": "195X"}),
    (WITH_AN_ITEM, "measures four by six inches", {"dimensions": (101.6, 152.4)}),
    (WITH_AN_ITEM, "lifting", {"adhesion": "partly loose"}),
    (WITH_AN_ITEM, "came off", {"adhesion": "loose", "action": ("detached",)}),
    (WITH_AN_ITEM, "fell out", {"adhesion": "loose", "action": ()}),
    (WITH_AN_ITEM, "left in place", {"action": ("left in place",)}),
    (WITH_AN_ITEM, "old tape discarded", {"action": ("discarded",)}),
    (WITH_AN_ITEM, "number on the back", {"action": ("inscribed",)}),
    (WITH_AN_ITEM, "goes in envelope seven", {"enclosure": "envelope 7", "action": ("enclosed",)}),
    (WITH_AN_ITEM, "correction, leaf fifteen", {"leaf": "15"}),
    (WITH_AN_ITEM, "strike that", {"status": Status.VOID}),
    (WITH_AN_ITEM, "check this", {"status": Status.QUERIED}),
    (WITH_AN_ITEM, "remark, the tape is gone", {"remark": "the tape is gone"}),
)
SAID = [wording for section in load_sections() for line in section.lines for wording in line.said]


@cache
def reader() -> Reader:
    return Reader(VOCABULARY, ReadingOptions())


def dictate(*notes: str) -> tuple[Entry, ...]:
    """Return the entries that the last of some notes made or changed."""
    logbook = Logbook(reader())
    changed: tuple[Entry, ...] = ()
    for number, text in enumerate(notes, start=1):
        changed = logbook.take(Note(number=number, uid=f"n{number}", text=text))
    return changed


@pytest.mark.parametrize(("where", "wording", "expected"), GIVES, ids=[row[1] for row in GIVES])
def test_what_stands_on_the_card_is_understood(
    where: tuple[str, ...], wording: str, expected: dict[str, Any]
) -> None:
    """It gives what it should, and no word of it is left over or doubted."""
    changed = dictate(*where, wording)
    if not changed:
        # A place alone makes no entry; what is said next shows where one is.
        changed = dictate(*where, wording, "a map" if where else "volume one, leaf one, a map")
    latest = changed[-1]
    assert {name: getattr(latest, name) for name in expected} == expected
    if "check this" not in wording:
        assert not latest.doubts


def test_the_table_above_holds_all_that_the_card_says() -> None:
    """A wording that nobody tried would be a promise that nobody keeps."""
    assert sorted({*(row[1] for row in GIVES), *Order}) == sorted(SAID)


@pytest.mark.parametrize("order", Order)
def test_a_command_on_the_card_is_that_command(order: Order) -> None:
    """Every command stands there, and the note that gives it holds nothing else."""
    assert str(order) in SAID
    assert find_orders(str(order), reader()) == Orders(given=(order,), is_all=True)


TERMS = [
    concept
    for concept in VOCABULARY.concepts
    if concept.field
    in {
        TermField.ITEM_TYPE,
        TermField.ATTACHMENT,
        TermField.ADHESION,
        TermField.CONDITION,
        TermField.ACTION,
    }
]


@pytest.mark.parametrize("concept", TERMS, ids=lambda concept: f"{concept.field} {concept.id}")
@pytest.mark.parametrize("spell", [in_british, in_american])
def test_a_term_is_understood_as_the_card_spells_it(concept: Concept, spell: Any) -> None:
    """Of an item, in either spelling of English."""
    said = spell(wording_of(concept))
    notes = (*ON_THE_LEAF, f"a {said}") if concept.field == "item_type" else (*WITH_AN_ITEM, said)
    changed = dictate(*notes)
    given = getattr(changed[-1], concept.field)
    assert concept.term in (given if isinstance(given, tuple) else (given,))


@pytest.mark.parametrize("paper", [A4_MM, LETTER_MM])
@pytest.mark.parametrize("spell", [in_british, in_american])
def test_the_card_is_one_page_with_every_term(paper: tuple[float, float], spell: Any) -> None:
    """Read back from the page; nothing is left out or shortened."""
    pdf = print_bench_card(VOCABULARY, size_mm=paper, spell=spell)
    (text,) = texts(pdf)
    assert size_mm(pdf) == pytest.approx(paper, abs=0.5)
    for wording in (*SAID, *(spell(wording_of(concept)) for concept in TERMS)):
        assert wording in text.replace("- ", "-")
    assert "…" not in text


def test_own_terms_stand_on_the_card_until_it_is_full() -> None:
    """Then the longest list says how many there are beside those that it names."""
    own = [
        Concept(id=f"badge-{number}", field=TermField.ITEM_TYPE, term=f"lamp badge {number}")
        for number in range(300)
    ]
    few = Vocabulary(concepts=(*VOCABULARY.concepts, *own[:3]), cautions=VOCABULARY.cautions)
    many = Vocabulary(concepts=(*VOCABULARY.concepts, *own), cautions=VOCABULARY.cautions)
    (text,) = texts(print_bench_card(few, size_mm=A4_MM, spell=in_british))
    assert "lamp badge 2" in text
    (text,) = texts(print_bench_card(many, size_mm=A4_MM, spell=in_british))
    assert "more" in text
    assert "loose leaves" in text
    assert "conservator or other licensed professional decides." in text


def test_the_same_vocabulary_gives_the_same_card() -> None:
    """Byte for byte."""
    pages = {print_bench_card(VOCABULARY, size_mm=A4_MM, spell=in_british) for _ in range(2)}
    assert len(pages) == 1
