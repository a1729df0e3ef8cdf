"""Lattice-free maximum mutual information, from a flat start.

Povey et al., "Purely sequence-trained neural networks for ASR based on lattice-free MMI"
(Interspeech 2016); Hadian et al., "End-to-end speech recognition using lattice-free MMI"
(Interspeech 2018): no alignments, no trees, every pair of phones has outputs of its own.
What was said is a line of phones with optional silence between words; what might have been
said is any string of phones, by a bigram of phones.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

from models.recipe.phones import NUMBER_OF, PHONES

_P = len(PHONES)
_NEVER = -1e4
_AT_EDGE, _BETWEEN = 0.85, 0.3
"""How often there is silence at the ends of an utterance, and between two words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The states of one utterance: each a pair of phones, entered from at most two others.

    Attributes:
        pairs: left phone times the number of phones plus the phone.
        before: for each state the two it may be entered from; -1 is none, -2 the start.
        finals: the states in which it may end.
    """

    pairs: tuple[int, ...]
    before: tuple[tuple[int, int], ...]
    finals: tuple[int, ...]


def make_line(words: Sequence[Sequence[str]]) -> Line:
    """Return the states of an utterance with optional silence around every word."""
    pairs: list[int] = []
    before: list[tuple[int, int]] = []

    def enter(left: int, phone: int, sources: Sequence[int]) -> int:
        pairs.append(left * _P + phone)
        before.append((sources[0], sources[1] if len(sources) > 1 else -1))
        return len(pairs) - 1

    # Where one can be, by the phone last said; the start counts as silence.
    ends: dict[int, list[int]] = {0: [-2]}
    for word in [*words, ()]:
        left, sources = next(iter(ends.items()))
        silence = enter(left, 0, sources)
        ends = {0: [-2, silence]} if left == 0 else {left: sources, 0: [silence]}
        for name in word:
            phone = NUMBER_OF[name]
            entered = [enter(key, phone, states) for key, states in ends.items()]
            ends = {phone: entered}
    finals = [state for states in ends.values() for state in states if state >= 0]
    return Line(pairs=tuple(pairs), before=tuple(before), finals=tuple(finals))


def phone_bigram(utterances: Iterable[Sequence[Sequence[str]]], *, seed: int) -> Tensor:
    """Return how often a phone follows another: shape (phones + 1, phones + 1).

    The last row is the start, the last column the end.
    """
    draw = np.random.default_rng(seed)
    counts = np.full((_P + 1, _P + 1), 0.5)
    for words in utterances:
        last = _P
        for number, word in enumerate([*words, ()]):
            is_edge = number in {0, len(words)}
            phones = [NUMBER_OF[name] for name in word]
            if draw.random() < (_AT_EDGE if is_edge else _BETWEEN):
                phones.insert(0, 0)
            for phone in phones:
                counts[last, phone] += 1
                last = phone
        counts[last, _P] += 1
    counts[0, 0] = counts[_P, _P] = 1e-9
    return torch.tensor(counts / counts.sum(1, keepdims=True), dtype=torch.float32)


def anything_said(scores: Tensor, lengths: Tensor, bigram: Tensor) -> Tensor:
    """Return the log likelihood of any string of phones, for each utterance.

    Args:
        scores: shape (batch, time, phones, phones, 2).
        lengths: how much of the time is speech, shape (batch,).
        bigram: from :func:`phone_bigram`.
    """
    peak = scores.amax((2, 3, 4)).detach()
    likelihoods = (scores - peak[..., None, None, None]).exp()
    follow, ends = bigram[:_P, :_P], bigram[:_P, _P]
    start = torch.zeros(scores.shape[0], _P, _P, device=scores.device)
    start[:, 0, :] = bigram[_P, :_P]
    state = start * likelihoods[:, 0, :, :, 0]
    scale = state.sum((1, 2), keepdim=True) + 1e-30
    state = state / scale
    total = peak[:, 0] + scale[:, 0, 0].log()
    for time in range(1, scores.shape[1]):
        arrived = state.sum(1)
        new = likelihoods[:, time, :, :, 1] * state
        new = new + likelihoods[:, time, :, :, 0] * (arrived[:, :, None] * follow)
        scale = new.sum((1, 2), keepdim=True) + 1e-30
        goes_on = (time < lengths)[:, None, None]
        state = torch.where(goes_on, new / scale, state)
        total = total + torch.where(goes_on[:, 0, 0], scale[:, 0, 0].log() + peak[:, time], 0.0)
    return total + ((state.sum(1) @ ends) + 1e-30).log()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineBatch:
    """Several lines, padded; shapes (batch, states) and (batch, states, 2)."""

    pairs: Tensor
    before: Tensor
    is_first: Tensor
    is_final: Tensor

    def to(self, device: torch.device) -> LineBatch:
        """Return the same on another device."""
        return LineBatch(
            pairs=self.pairs.to(device),
            before=self.before.to(device),
            is_first=self.is_first.to(device),
            is_final=self.is_final.to(device),
        )


def batch_lines(lines: Sequence[Line]) -> LineBatch:
    """Return the lines as tensors."""
    width = max(len(line.pairs) for line in lines)
    pairs = np.zeros((len(lines), width), dtype=np.int64)
    # One more state than there are, in which nobody ever is.
    before = np.full((len(lines), width, 2), width, dtype=np.int64)
    is_first = np.zeros((len(lines), width), dtype=bool)
    is_final = np.zeros((len(lines), width), dtype=bool)
    for row, line in enumerate(lines):
        pairs[row, : len(line.pairs)] = line.pairs
        for state, sources in enumerate(line.before):
            for nth, source in enumerate(sources):
                if source >= 0:
                    before[row, state, nth] = source
                elif source == -2:
                    is_first[row, state] = True
        is_final[row, list(line.finals)] = True
    return LineBatch(
        pairs=torch.from_numpy(pairs),
        before=torch.from_numpy(before),
        is_first=torch.from_numpy(is_first),
        is_final=torch.from_numpy(is_final),
    )


def what_was_said(scores: Tensor, lengths: Tensor, lines: LineBatch, bigram: Tensor) -> Tensor:
    """Return the log likelihood of what was said, for each utterance; see `anything_said`."""
    batch, times = scores.shape[:2]
    flat = scores.reshape(batch, times, _P * _P, 2)
    index = lines.pairs[:, None, :, None].expand(batch, times, lines.pairs.shape[1], 2)
    own = flat.gather(2, index)
    left, phone = lines.pairs // _P, lines.pairs % _P
    log_bigram = (bigram + 1e-20).log()
    never = torch.tensor(_NEVER, device=scores.device)
    weights = log_bigram[left, phone]
    first = torch.where(lines.is_first, log_bigram[_P][phone], never)
    state = first + own[:, 0, :, 0]
    first_source, second_source = lines.before[..., 0], lines.before[..., 1]
    for time in range(1, times):
        padded = functional.pad(state, (0, 1), value=_NEVER)
        arrived = torch.logaddexp(padded.gather(1, first_source), padded.gather(1, second_source))
        new = torch.logaddexp(state + own[:, time, :, 1], arrived + weights + own[:, time, :, 0])
        new = new.clamp(min=2 * _NEVER)
        state = torch.where((time < lengths)[:, None], new, state)
    ends = torch.where(lines.is_final, log_bigram[:, _P][phone], never)
    return (state + ends).logsumexp(1)
