"""Two readings side by side: ``{what the open ear heard|what the closed ear heard}``."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.hearing.conftest import untimed, words_of
from voicelog.domain.note import Word
from voicelog.hearing.alignment import Slot, align
from voicelog.hearing.pieces import cut_into_pieces
from voicelog.hearing.sounds import SoundDistance


def write(slots: tuple[Slot, ...]) -> str:
    """Write slots down: what is the same once, what differs in braces."""
    parts = []
    for slot in slots:
        opened, closed = (
            " ".join(piece.key for piece in heard) for heard in (slot.open, slot.closed)
        )
        parts.append(opened if slot.agrees else f"{{{opened}|{closed}}}")
    return " ".join(parts)


@pytest.mark.parametrize(
    ("opened", "closed", "expected"),
    [
        ("Leaf 14, recto.", "leaf fourteen recto", "leaf 14 recto"),
        ("A photo, held by hotel corners.", "a photo held by photo corners",
         "a photo held by {hotel|photo} corners"),
        ("put the number on", "put the number on the back", "put the number on {|the back}"),
        ("so I leave an envelope 7", "goes in envelope seven",
         "{so i leave an|goes in} envelope 7"),
        ("caption reads, Lamplighters' outing.", "caption reads [unk]",
         "caption reads {lamplighters ' outing|[unk]}"),
        ("goes in bucks to, please.", "goes in box two leaves",
         "goes in {bucks to please|box 2 leaves}"),
        ("", "verso", "{|verso}"),
        ("Verso.", "", "{verso|}"),
    ],
)  # fmt: skip
def test_what_both_heard_stands_together(
    opened: str, closed: str, expected: str, sounds: SoundDistance
) -> None:
    found = align(cut_into_pieces(untimed(opened)), cut_into_pieces(untimed(closed)), sounds)
    assert write(found).replace(" ' ", " ") == expected.replace(" ' ", " ")


def test_words_are_compared_with_what_was_said_at_that_time(sounds: SoundDistance) -> None:
    """The second "leaf" is the second one, though the first would fit as well."""
    opened = (
        Word(text="leaf", start_s=5.0, end_s=5.4),
        Word(text="four", start_s=5.4, end_s=5.8),
    )
    closed = words_of("leaf leaf")[:1] + tuple(
        Word(text=text, start_s=start, end_s=start + 0.4)
        for text, start in (("leaf", 5.0), ("four", 5.4))
    )
    found = align(cut_into_pieces(opened), cut_into_pieces(closed), sounds)
    assert write(found) == "{|leaf} leaf 4"


def test_what_sounds_alike_is_compared_where_there_are_no_times(sounds: SoundDistance) -> None:
    found = align(
        cut_into_pieces(untimed("oppressed flower")),
        cut_into_pieces(untimed("um a pressed flower")),
        sounds,
    )
    assert write(found) == "{oppressed|um a pressed} flower"


_TEXTS = st.lists(
    st.sampled_from(
        ["leaf", "14", "fourteen", "twenty-one", "recto,", "[unk]", "a", "—", "2031-007"]
    ),
    max_size=8,
).map(" ".join)


@settings(deadline=None)
@given(opened=_TEXTS, closed=_TEXTS)
def test_no_piece_is_lost_and_the_order_stays(
    opened: str, closed: str, sounds: SoundDistance
) -> None:
    """Whatever was heard: the slots hold every piece of both readings once, in order."""
    first, second = cut_into_pieces(untimed(opened)), cut_into_pieces(untimed(closed))
    found = align(first, second, sounds)
    assert tuple(piece for slot in found for piece in slot.open) == first
    assert tuple(piece for slot in found for piece in slot.closed) == second


@settings(deadline=None)
@given(text=_TEXTS)
def test_a_reading_agrees_with_itself(text: str, sounds: SoundDistance) -> None:
    pieces = cut_into_pieces(untimed(text))
    known = tuple(piece for piece in pieces if not piece.is_unknown)
    assert all(slot.agrees for slot in align(known, known, sounds))
