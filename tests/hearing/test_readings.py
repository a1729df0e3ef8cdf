"""What stays of the open ear's writing where the closed ear's words stand, and its opinion."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tests.hearing.conftest import words_of
from voicelog.domain.note import Word
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
        ("Leafy leaven, torn.", "leaf eleven torn", "Leaf eleven, torn."),
        # An inner comma goes behind the word that was over at the same time.
        ("Posed card, blued badge torn.", "postcard yes glued bag torn",
         "Postcard yes, glued bag torn."),
        ("verso, Sleeves.", "verso slits", "verso, Slits."),
        ("Verso, torn.", "verso [unk] torn", "Verso, torn."),
    ],
)  # fmt: skip
def test_signs_and_the_first_capital_stay(
    opened: str, closed: str, joined: str, sounds: SoundDistance
) -> None:
    """A comma stands for a pause, which the reader needs, and the closed ear writes none."""
    readings = Readings(words_of(opened), words_of(closed))
    assert readings.text(taking_closed(readings, sounds)) == joined


def test_a_sign_without_times_is_only_kept_at_the_end() -> None:
    """Where nobody says when a word was over, nothing says where an inner pause was."""
    untimed = tuple(Word(text=text) for text in ("Posed", "card,", "blued."))
    readings = Readings(untimed, tuple(Word(text=text) for text in ("postcard", "glued")))
    decisions = taking_closed(readings, SoundDistance())
    assert readings.text(decisions) == "Postcard glued."


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
