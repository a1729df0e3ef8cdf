"""The gold sessions: how many of the expected values the reader finds, and invents.

Floors are what ``python -m tests.gold.score`` measured when they were set, less a small margin.
The sessions held back are looked at only as a sum: no rule is made for a sentence of theirs.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.gold.score import Row, Score, read_notes, read_session, rows_of, score, slot_figures
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

HERE = Path(__file__).parent
FLOORS = {"tuning": (0.995, 0.98), "held_back": (0.982, 0.925)}
"""Slot F1, and the share of entries that are right in every field."""


@pytest.fixture(scope="module")
def gold_reader() -> Reader:
    return Reader(load_vocabulary(), ReadingOptions())


def measure(name: str, reader: Reader) -> Score:
    total = Score()
    for path in sorted((HERE / name).glob("*.gold")):
        session = read_session(path)
        total.add(score(session.rows, rows_of(read_notes(session.notes, reader))))
    return total


@pytest.mark.parametrize("name", sorted(FLOORS))
def test_the_reader_finds_what_a_careful_reader_finds(name: str, gold_reader: Reader) -> None:
    result = measure(name, gold_reader)
    floor_f1, floor_exact = FLOORS[name]
    assert result.entries > 200
    assert result.figures()[2] >= floor_f1
    assert result.exact / result.entries >= floor_exact


def test_every_session_can_be_read_as_gold() -> None:
    for path in sorted(HERE.glob("*/*.gold")):
        session = read_session(path)
        assert session.notes, path.name
        assert session.rows, path.name


class TestTheMeasure:
    """The measure itself, so that a good figure means something."""

    def test_slot_figures_are_those_of_the_published_example(self) -> None:
        # CoNLL-2000 evaluation, clips.uantwerpen.be/conll2000/chunking/output.html: 459 phrases,
        # found 539, correct 371 -> precision 68.83, recall 80.83, FB1 74.35.
        figures = slot_figures(correct=371, read=539, expected=459)
        assert tuple(round(100 * figure, 2) for figure in figures) == (68.83, 80.83, 74.35)

    def test_a_wrong_value_counts_against_precision_and_recall(self) -> None:
        want = [Row({"kind": "item", "leaf": "3", "item_type": ["postcard"]})]
        got = [Row({"kind": "item", "leaf": "3", "item_type": ["ticket"]})]
        result = score(want, got)
        assert result.figures() == (2 / 3, 2 / 3, 2 / 3)
        assert (result.exact, result.entries) == (0, 1)

    def test_a_lost_row_counts_against_recall_only(self) -> None:
        want = [Row({"kind": "item", "leaf": "3"}), Row({"kind": "leaf", "leaf": "4"})]
        result = score(want, want[:1])
        assert result.figures()[:2] == (1.0, 0.5)

    def test_an_invented_row_counts_against_precision_only(self) -> None:
        got = [Row({"kind": "item", "leaf": "3"}), Row({"kind": "leaf", "leaf": "4"})]
        result = score(got[:1], got)
        assert result.figures()[:2] == (0.5, 1.0)

    def test_a_lenient_field_counts_neither_way(self) -> None:
        want = [Row({"kind": "item", "leaf": "3", "remark": "old"}, frozenset({"remark"}))]
        got = [Row({"kind": "item", "leaf": "3", "remark": "new"})]
        result = score(want, got)
        assert result.figures() == (1.0, 1.0, 1.0)
        assert result.exact == 1

    def test_case_and_punctuation_of_a_caption_don_t_count(self) -> None:
        want = [Row({"kind": "item", "caption": "At the weir, 1952."})]
        got = [Row({"kind": "item", "caption": "at the weir 1952"})]
        assert score(want, got).figures()[2] == 1.0
