"""Lattice-free maximum mutual information, from a flat start.

Povey et al., "Purely sequence-trained neural networks for ASR based on lattice-free MMI"
(Interspeech 2016); Hadian et al., "End-to-end speech recognition using lattice-free MMI"
(Interspeech 2018): no alignments, no trees, every pair of phones has outputs of its own.
What was said is a line of phones, with every pronunciation of a word beside the others and
optional silence between words; what might have been said is any string of phones, by a
bigram of phones.

Both likelihoods have a gradient in closed form (how likely each output was used at each
time), which costs one pass forward and one back over the times instead of a graph of a
thousand small operations.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import torch
from torch import Tensor

from voicelog.adapting.phones import NUMBER_OF, PHONES

Word = Sequence[Sequence[str]]
"""The pronunciations of a word, each a string of phones."""

_P = len(PHONES)
_NEVER = -1e4
_AT_EDGE, _BETWEEN = 0.85, 0.3
"""How often there is silence at the ends of an utterance, and between two words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The states of one utterance: each a pair of phones, entered from some others.

    Attributes:
        pairs: left phone times the number of phones plus the phone.
        before: for each state those it may be entered from; -2 is the start.
        finals: the states in which it may end.
    """

    pairs: tuple[int, ...]
    before: tuple[tuple[int, ...], ...]
    finals: tuple[int, ...]


def make_line(words: Sequence[Word]) -> Line:
    """Return the states of an utterance with optional silence around every word."""
    pairs: list[int] = []
    before: list[tuple[int, ...]] = []

    def enter(left: int, phone: int, sources: Sequence[int]) -> int:
        pairs.append(left * _P + phone)
        before.append(tuple(sources))
        return len(pairs) - 1

    # Where one can be, by the phone last said; the start counts as silence.
    ends: dict[int, list[int]] = {0: [-2]}
    for word in [*words, ()]:
        silences = [enter(left, 0, sources) for left, sources in ends.items()]
        after = {**ends, 0: [*ends.get(0, ()), *silences]}
        if not word:
            ends = after
            break
        ends = {}
        for said in word:
            reached = after
            for name in said:
                phone = NUMBER_OF[name]
                reached = {phone: [enter(key, phone, last) for key, last in reached.items()]}
            for phone, states in reached.items():
                ends.setdefault(phone, []).extend(states)
    finals = [state for states in ends.values() for state in states if state >= 0]
    return Line(pairs=tuple(pairs), before=tuple(before), finals=tuple(finals))


def phone_bigram(utterances: Iterable[Sequence[Word]], *, seed: int) -> Tensor:
    """Return how often a phone follows another: shape (phones + 1, phones + 1).

    The last row is the start, the last column the end.
    """
    draw = np.random.default_rng(seed)
    counts = np.full((_P + 1, _P + 1), 0.5)
    for words in utterances:
        last = _P
        for number, word in enumerate([*words, [()]]):
            is_edge = number in {0, len(words)}
            phones = [NUMBER_OF[name] for name in word[draw.integers(len(word))]]
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
    likelihood: Tensor = _Anything.apply(scores, lengths, bigram)  # type: ignore[no-untyped-call]
    return likelihood


class _Anything(torch.autograd.Function):
    """Forward and backward probabilities over all pairs of phones, scaled at every time."""

    @staticmethod
    def forward(ctx: Any, scores: Tensor, lengths: Tensor, bigram: Tensor) -> Tensor:
        times = scores.shape[1]
        follow, ends = bigram[:_P, :_P], bigram[:_P, _P]
        is_speech = torch.arange(times, device=scores.device)[None, :] < lengths[:, None]
        peak = scores.amax((2, 3, 4))
        likelihoods = (scores - peak[..., None, None, None]).exp()
        # After the end one stays where one is, at no cost.
        inside = is_speech[:, :, None, None].float()
        entering = likelihoods[..., 0] * inside
        staying = likelihoods[..., 1] * inside + (1 - inside)
        first = torch.zeros_like(entering[:, 0])
        first[:, 0] = bigram[_P, :_P] * entering[:, 0, 0]
        entering = entering * follow
        entering[:, 0] = first
        staying[:, 0] = 0
        forward = torch.empty_like(entering)
        scales = scores.new_empty(scores.shape[0], times, 1, 1)
        state = torch.zeros_like(first)
        arrived = scores.new_ones(scores.shape[0], _P)
        for time in range(times):
            new = torch.addcmul(staying[:, time] * state, entering[:, time], arrived[:, :, None])
            scales[:, time] = new.sum((1, 2), keepdim=True) + 1e-30
            state = torch.div(new, scales[:, time], out=forward[:, time])
            arrived = state.sum(1)
        last = arrived @ ends + 1e-30
        ctx.save_for_backward(entering, staying, forward, scales, ends, last, inside)
        return ((peak + scales[:, :, 0, 0].log()) * is_speech).sum(1) + last.log()

    @staticmethod
    def backward(ctx: Any, *gradients: Tensor) -> tuple[Tensor, None, None]:
        entering, staying, forward, scales, ends, last, inside = ctx.saved_tensors
        times = entering.shape[1]
        used = entering.new_empty(*entering.shape, 2)
        rest = (ends / last[:, None])[:, None, :].expand(-1, _P, -1)
        arrived = forward.sum(2)
        for time in range(times - 1, -1, -1):
            entered = entering[:, time] * rest
            stayed = staying[:, time] * rest
            if time:
                torch.mul(entered, arrived[:, time - 1, :, None], out=used[:, time, :, :, 0])
                torch.mul(stayed, forward[:, time - 1], out=used[:, time, :, :, 1])
            else:
                used[:, 0, :, :, 0] = entered
                used[:, 0, :, :, 1] = 0
            used[:, time] /= scales[:, time, ..., None]
            # From where this phone stands, whatever stood before it, all that can follow.
            rest = (stayed + entered.sum(2)[:, None, :]) / scales[:, time]
        return used * (inside[..., None] * gradients[0][:, None, None, None, None]), None, None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineBatch:
    """Several lines, padded.

    Attributes:
        pairs: shape (batch, states).
        before: which states each may be entered from, shape (batch, states, most sources).
        after: which states each may be left for, shape (batch, states, most targets).
        is_first: shape (batch, states).
        is_final: shape (batch, states).
    """

    pairs: Tensor
    before: Tensor
    after: Tensor
    is_first: Tensor
    is_final: Tensor

    def to(self, device: torch.device) -> LineBatch:
        """Return the same on another device."""
        return LineBatch(
            pairs=self.pairs.to(device, non_blocking=True),
            before=self.before.to(device, non_blocking=True),
            after=self.after.to(device, non_blocking=True),
            is_first=self.is_first.to(device, non_blocking=True),
            is_final=self.is_final.to(device, non_blocking=True),
        )


def batch_lines(lines: Sequence[Line]) -> LineBatch:
    """Return the lines as tensors."""
    width = max(len(line.pairs) for line in lines)
    pairs = np.zeros((len(lines), width), dtype=np.int64)
    is_first = np.zeros((len(lines), width), dtype=bool)
    is_final = np.zeros((len(lines), width), dtype=bool)
    before: list[list[list[int]]] = []
    after: list[list[list[int]]] = []
    for row, line in enumerate(lines):
        pairs[row, : len(line.pairs)] = line.pairs
        is_final[row, list(line.finals)] = True
        before.append([[] for _ in range(width)])
        after.append([[] for _ in range(width)])
        for state, sources in enumerate(line.before):
            for source in sources:
                if source < 0:
                    is_first[row, state] = True
                else:
                    before[row][state].append(source)
                    after[row][source].append(state)
    return LineBatch(
        pairs=torch.from_numpy(pairs),
        before=_padded(before, width),
        after=_padded(after, width),
        is_first=torch.from_numpy(is_first),
        is_final=torch.from_numpy(is_final),
    )


def _padded(neighbours: Sequence[Sequence[Sequence[int]]], width: int) -> Tensor:
    """Return lists of states as a tensor; filled up with one more state, where nobody ever is."""
    most = max(len(states) for line in neighbours for states in line)
    filled = np.full((len(neighbours), width, max(1, most)), width, dtype=np.int64)
    for row, line in enumerate(neighbours):
        for state, states in enumerate(line):
            filled[row, state, : len(states)] = states
    return torch.from_numpy(filled)


def what_was_said(scores: Tensor, lengths: Tensor, lines: LineBatch, bigram: Tensor) -> Tensor:
    """Return the log likelihood of what was said, for each utterance; see `anything_said`."""
    log_bigram = (bigram + 1e-20).log()
    left, phone = lines.pairs // _P, lines.pairs % _P
    never = torch.tensor(_NEVER, device=scores.device)
    enters = log_bigram[left, phone]
    starts = torch.where(lines.is_first, log_bigram[_P][phone], never)
    ends = torch.where(lines.is_final, log_bigram[:, _P][phone], never)
    likelihood: Tensor = _Said.apply(  # type: ignore[no-untyped-call]
        scores, lengths, lines, (enters, starts, ends)
    )
    return likelihood


class _Said(torch.autograd.Function):
    """Forward and backward probabilities along the lines, as logarithms."""

    @staticmethod
    def forward(
        ctx: Any,
        scores: Tensor,
        lengths: Tensor,
        lines: LineBatch,
        costs: tuple[Tensor, Tensor, Tensor],
    ) -> Tensor:
        enters, starts, ends = costs
        batch, times = scores.shape[:2]
        states = lines.pairs.shape[1]
        index = lines.pairs[:, None, :, None].expand(batch, times, states, 2)
        own = scores.reshape(batch, times, _P * _P, 2).gather(2, index)
        is_speech = torch.arange(times, device=scores.device)[None, :] < lengths[:, None]
        entering = torch.where(is_speech[..., None], own[..., 0] + enters[:, None], _NEVER)
        staying = torch.where(is_speech[..., None], own[..., 1], 0.0)
        forward = scores.new_full((batch, times, states + 1), _NEVER)
        forward[:, 0, :states] = starts + own[:, 0, :, 0]
        arrived = scores.new_empty(batch, times, states)
        sources = lines.before.flatten(1)
        for time in range(1, times):
            last = forward[:, time - 1]
            came = last.gather(1, sources).view(lines.before.shape).logsumexp(2)
            arrived[:, time] = came
            torch.logaddexp(
                last[:, :states] + staying[:, time],
                came + entering[:, time],
                out=forward[:, time, :states],
            )
            forward[:, time].clamp_(min=2 * _NEVER)
        likelihood = (forward[:, -1, :states] + ends).logsumexp(1)
        saved = (entering, staying, forward, arrived, starts, ends, likelihood, own, is_speech)
        ctx.save_for_backward(*saved, lines.after, index)
        ctx.shape = scores.shape
        return likelihood

    @staticmethod
    def backward(ctx: Any, *gradients: Tensor) -> tuple[Tensor, None, None, None]:
        (
            entering,
            staying,
            forward,
            arrived,
            starts,
            ends,
            likelihood,
            own,
            is_speech,
            after,
            index,
        ) = ctx.saved_tensors
        times, states = entering.shape[1:]
        targets = after.flatten(1)
        rest = ends - likelihood[:, None]
        used = torch.empty_like(own)
        padded = entering.new_full((len(entering), states + 1), _NEVER)
        for time in range(times - 1, 0, -1):
            entered = entering[:, time] + rest
            stayed = staying[:, time] + rest
            used[:, time, :, 0] = arrived[:, time] + entered
            used[:, time, :, 1] = forward[:, time - 1, :states] + stayed
            padded[:, :states] = entered
            left = padded.gather(1, targets).view(after.shape).logsumexp(2)
            rest = torch.logaddexp(stayed, left).clamp(min=2 * _NEVER)
        used[:, 0, :, 0] = starts + own[:, 0, :, 0] + rest
        used[:, 0, :, 1] = 2 * _NEVER
        weight = (is_speech * gradients[0][:, None])[..., None, None]
        used = used.exp() * weight
        batch = len(entering)
        flat = used.new_zeros(batch, times, _P * _P, 2).scatter_add_(2, index, used)
        return flat.view(ctx.shape), None, None, None
