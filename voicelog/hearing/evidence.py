"""What speaks for one ear or the other where they heard different words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence

from voicelog.domain.note import Word
from voicelog.hearing.alignment import Slot
from voicelog.hearing.pieces import UNKNOWN_WORD, Piece
from voicelog.hearing.sense import Sense
from voicelog.hearing.sounds import SoundDistance

Evidence = dict[str, float]
"""Named figures, weighed by the table of the same names."""

_SUREST = 0.98
"""Beyond this a recogniser's own figure says no more."""
_USUAL_BELIEF, _MOST_BELIEF = -4.5, 4.0
"""What the open ear makes of words in dispute, in the middle, and how far to either side of it
a figure still says more; natural logarithms, of the tuning voices."""
_SAME_SOUND = 0.1
"""Distance under which two numbers are one number, written in two ways."""


def weigh(evidence: Evidence, weights: Mapping[str, float]) -> float:
    """Return the sum of weight times evidence: log odds.

    >>> weigh({"always": 1.0, "claims": 2.0}, {"always": -0.5, "claims": 1.0})
    1.5
    """
    return sum(weights[name] * value for name, value in evidence.items())


def probability(log_odds: float) -> float:
    """Return the probability, 0..1, that log odds stand for.

    >>> probability(0.0)
    0.5
    """
    return 1 / (1 + math.exp(-log_odds))


def describe_note(
    open_words: Sequence[Word], closed_words: Sequence[Word], *, of_open: Sense, of_closed: Sense
) -> Evidence:
    """Return which ear seems to hear the whole note better; some voices suit only one.

    Args:
        open_words: the open ear's reading.
        closed_words: the closed ear's reading.
        of_open: the sense of the open ear's reading.
        of_closed: the sense of the closed ear's.
    """
    unknown = sum(word.text == UNKNOWN_WORD for word in closed_words)
    return {
        "open is sure of the note": sureness(open_words),
        "closed is sure of the note": sureness(closed_words),
        "closed knows no word around": unknown / max(1, len(closed_words)),
        "closed note claims more": float(of_closed.claimed - of_open.claimed),
        "closed note is stranger": float(of_closed.strange - of_open.strange),
    }


def describe_difference(
    slot: Slot,
    *,
    with_open: Sense,
    with_closed: Sense,
    belief: float | None,
    sounds: SoundDistance,
    is_term_word: Callable[[str], bool],
) -> Evidence:
    """Return the evidence on a slot in which the ears differ.

    Args:
        slot: what both heard there.
        with_open: the sense of the whole note with the open ear's words in the slot.
        with_closed: its sense with the closed ear's words.
        belief: what the open ear makes of the closed ear's words: the mean natural logarithm
            of their likelihoods; None where nobody can be asked.
        sounds: compares by sound.
        is_term_word: told a word, says whether it is part of the vocabulary.
    """
    open_words, closed_words = _spoken(slot.open), _spoken(slot.closed)
    both = bool(open_words and closed_words)
    unlike = sounds.measure_words(open_words, closed_words) if both else 1.0
    numbers = [any(piece.is_number for piece in heard) for heard in (slot.open, slot.closed)]
    return {
        "always": 1.0,
        "open is sure": sureness(slot.open),
        "closed is sure": sureness(slot.closed),
        "open is silent": float(not slot.open),
        "closed is silent": float(not slot.closed),
        "closed claims more": float(with_closed.claimed - with_open.claimed),
        "closed is stranger": float(with_closed.strange - with_open.strange),
        "closed raises more doubts": float(with_closed.doubts - with_open.doubts),
        "open has terms": float(bool(open_words) and all(map(is_term_word, open_words))),
        "closed has terms": float(bool(closed_words) and all(map(is_term_word, closed_words))),
        "open has a number": float(numbers[0]),
        "closed has a number": float(numbers[1]),
        # "twenty twenty nine" is 2029 to who hears words, and 2020 9 to who writes digits.
        "one number in two writings": float(all(numbers) and unlike < _SAME_SOUND),
        "unlike": unlike,
        "open believes closed": _describe_belief(belief),
    }


def describe_word(
    slot: Slot, *, log_odds: float, takes_closed: bool, belief: float | None, share_agreed: float
) -> Evidence:
    """Return the evidence on whether the words taken for a slot are right.

    Args:
        slot: what both heard there.
        log_odds: how much spoke for the closed ear; 0 where nothing was to be chosen.
        takes_closed: whose words were taken.
        belief: as for :func:`describe_difference`.
        share_agreed: which part of the note's slots both ears agree on, 0..1.
    """
    taken = slot.closed if takes_closed else slot.open
    return {
        "always": 1.0,
        "both agree": float(slot.agrees),
        "open is sure": sureness(slot.open),
        "closed is sure": sureness(slot.closed) if not slot.is_unknown else 0.0,
        "closed knows no word": float(slot.is_unknown),
        "choice was clear": 0.0 if slot.agrees or slot.is_unknown else abs(log_odds),
        "taken from closed": float(takes_closed),
        "open believes what was taken": _describe_belief(belief) if takes_closed else 0.0,
        "a number": float(any(piece.is_number for piece in taken)),
        "agreement around": share_agreed,
    }


def _describe_belief(belief: float | None) -> float:
    if belief is None:
        return 0.0
    return max(-_MOST_BELIEF, min(belief - _USUAL_BELIEF, _MOST_BELIEF))


def sureness(heard: Sequence[Piece] | Sequence[Word]) -> float:
    """Return the log odds of the ear's own mean confidence; 0 where it gives none."""
    sure = [one.confidence for one in heard if one.confidence is not None]
    if not sure:
        return 0.0
    mean = min(max(sum(sure) / len(sure), 1 - _SUREST), _SUREST)
    return math.log(mean / (1 - mean))


def _spoken(pieces: Iterable[Piece]) -> tuple[str, ...]:
    return tuple(word for piece in pieces for word in piece.spoken)
