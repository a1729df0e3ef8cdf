"""What stays of the open ear's writing where the closed ear's words stand, and its opinion."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tests.hearing.conftest import words_of
from voicelog.hearing.alignment import align
from voicelog.hearing.readings import Decision, Readings
from voicelog.hearing.sounds import SoundDistance


class Believing:
    """An opinion on words by their length, that remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, ...]] = []

    def weigh(self, words: Sequence[str]) -> tuple[float, ...]:
        self.asked.append(tuple(words))
        return tuple(-float(len(word)) for word in words)


def taking_closed(readings: Readings, sounds: SoundDistance) -> list[Decision]:
    """Return decisions that take the closed ear's words wherever the ears differ."""
    slots = align(readings.open_pieces, readings.closed_pieces, sounds)
    return [Decision(slot=slot, takes_closed=not slot.agrees) for slot in slots]


@pytest.mark.parametrize(
    ("opened", "closed", "joined"),
    [
        ("Leaf 11, torn.", "leaf eleven torn", "Leaf 11, torn."),
        # The signs of words that go, and one right before them, go as well.
        ("Leafy leaven, torn.", "leaf eleven torn", "Leaf eleven torn."),
        ("And a ticket, some came off.", "and a ticket stub came off",
         "And a ticket stub came off."),
        ("Verso, postcard, turn.", "verso postcard torn", "Verso, postcard torn"),
        ("Verso, torn.", "verso [unk] torn", "Verso, torn."),
    ],
)  # fmt: skip
def test_signs_stand_between_words_that_stay_and_the_first_capital_stays(
    opened: str, closed: str, joined: str, sounds: SoundDistance
) -> None:
    """A comma is written for what comes next; where that was wrong, so is the comma, often."""
    readings = Readings(words_of(opened), words_of(closed))
    assert readings.text(taking_closed(readings, sounds)) == joined


def test_the_open_ear_is_asked_once_about_the_whole_note() -> None:
    """Numbers in digits, as it would write them; nothing about words that nobody knows."""
    opinion = Believing()
    readings = Readings(words_of("Leaf 14."), words_of("leaf forty [unk] glued"), opinion)
    leaf, forty, unknown, glued = readings.closed_pieces
    assert readings.belief_in([forty, glued]) == pytest.approx(-3.5)
    assert readings.belief_in([leaf]) == pytest.approx(-4.0)
    assert readings.belief_in([unknown]) is None
    assert opinion.asked == [("leaf", "40", "glued")]


def test_who_can_not_be_asked_believes_nothing() -> None:
    readings = Readings(words_of("Leaf 14."), words_of("leaf forty"))
    assert readings.belief_in(readings.closed_pieces) is None
