"""Two readings of one note laid beside each other: where they agree and where they don't.

The pieces of both are aligned at the least cost (Levenshtein's distance): what is the same
costs nothing, what sounds alike little, and what was said at another time more, wherever both
recognisers give times.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicelog.hearing.pieces import Piece
from voicelog.hearing.sounds import SoundDistance

_MISSING = 0.55
"""Cost of a piece that only one ear heard. Two of them cost more than any exchange of pieces
that were said at the same time, so that what stands at one time is compared."""
_LEAST_EXCHANGE = 0.15
"""Homophones are not the same word."""
_UNKNOWN = 0.5
"""Cost of a word against the closed ear's "none of my words"."""
_ELSEWHERE = 0.6
"""Added where two pieces were not said at the same time."""
_SLACK_S = 0.3
"""By how much recognisers differ about when a word was said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A stretch of a note, and what each ear heard there.

    Attributes:
        open: the open ear's pieces; empty where it heard nothing.
        closed: the closed ear's pieces.
        agrees: whether both heard the same.
    """

    open: tuple[Piece, ...]
    closed: tuple[Piece, ...]
    agrees: bool

    @property
    def is_unknown(self) -> bool:
        """Whether the closed ear only knows that something was said."""
        return bool(self.closed) and all(piece.is_unknown for piece in self.closed)


@dataclass(frozen=True, slots=True)
class _Pair:
    open: Piece | None
    closed: Piece | None

    @property
    def agrees(self) -> bool:
        return (
            self.open is not None and self.closed is not None and self.open.key == self.closed.key
        )

    @property
    def is_unknown(self) -> bool:
        return self.closed is not None and self.closed.is_unknown


def align(
    open_pieces: Sequence[Piece], closed_pieces: Sequence[Piece], sounds: SoundDistance
) -> tuple[Slot, ...]:
    """Return the slots of a note, in order; together they hold every piece of both readings.

    A slot never divides a word as its recogniser wrote it. Around an unknown word of the closed
    ear, what only the open ear heard belongs to it.
    """
    pairs = _pair(open_pieces, closed_pieces, sounds)
    slots: list[Slot] = []
    for group in _group(pairs):
        slot = Slot(
            open=tuple(pair.open for pair in group if pair.open is not None),
            closed=tuple(pair.closed for pair in group if pair.closed is not None),
            agrees=all(pair.agrees for pair in group),
        )
        if slots and _share_a_word(slots[-1], slot):
            before = slots.pop()
            slot = Slot(
                open=before.open + slot.open,
                closed=before.closed + slot.closed,
                agrees=before.agrees and slot.agrees,
            )
        slots.append(slot)
    return tuple(slots)


def _pair(first: Sequence[Piece], second: Sequence[Piece], sounds: SoundDistance) -> list[_Pair]:
    """Return the cheapest alignment, piece by piece."""
    costs = [[0.0] * (len(second) + 1) for _ in range(len(first) + 1)]
    for row in range(len(first), -1, -1):
        for column in range(len(second), -1, -1):
            options = []
            if row < len(first) and column < len(second):
                exchange = _cost(first[row], second[column], sounds)
                options.append(exchange + costs[row + 1][column + 1])
            if row < len(first):
                options.append(_MISSING + costs[row + 1][column])
            if column < len(second):
                options.append(_MISSING + costs[row][column + 1])
            costs[row][column] = min(options, default=0.0)
    pairs: list[_Pair] = []
    row = column = 0
    while row < len(first) or column < len(second):
        here = costs[row][column]
        if (
            row < len(first)
            and column < len(second)
            and here == _cost(first[row], second[column], sounds) + costs[row + 1][column + 1]
        ):
            pairs.append(_Pair(first[row], second[column]))
            row, column = row + 1, column + 1
        elif row < len(first) and here == _MISSING + costs[row + 1][column]:
            pairs.append(_Pair(first[row], None))
            row += 1
        else:
            pairs.append(_Pair(None, second[column]))
            column += 1
    return pairs


def _cost(one: Piece, other: Piece, sounds: SoundDistance) -> float:
    elsewhere = 0.0 if _at_one_time(one, other) else _ELSEWHERE
    if other.is_unknown:
        return _UNKNOWN + elsewhere
    if one.key == other.key:
        return elsewhere / 2
    return max(_LEAST_EXCHANGE, sounds.measure(one, other)) + elsewhere


def _at_one_time(one: Piece, other: Piece) -> bool:
    if None in (one.start_s, one.end_s, other.start_s, other.end_s):
        return True
    return bool(
        one.start_s < other.end_s + _SLACK_S and other.start_s < one.end_s + _SLACK_S  # type: ignore[operator]
    )


def _group(pairs: Sequence[_Pair]) -> list[list[_Pair]]:
    """Put neighbouring differences together; agreements and unknown words stand alone."""
    kinds = ["same" if pair.agrees else "unknown" if pair.is_unknown else "other" for pair in pairs]
    for order in (range(1, len(pairs)), range(len(pairs) - 2, -1, -1)):
        step = -1 if order.step > 0 else 1
        for at in order:
            if pairs[at].closed is None and kinds[at + step] == "unknown":
                kinds[at] = "unknown"
    groups: list[list[_Pair]] = []
    for at, pair in enumerate(pairs):
        if at and kinds[at] != "same" and kinds[at] == kinds[at - 1]:
            groups[-1].append(pair)
        else:
            groups.append([pair])
    return groups


def _share_a_word(one: Slot, other: Slot) -> bool:
    return bool(
        (one.open and other.open and other.open[0].first < one.open[-1].end)
        or (one.closed and other.closed and other.closed[0].first < one.closed[-1].end)
    )
