"""The training objective held against a count of every path and PyTorch's own gradients.

    python -m tests.benchmarks.model.objective

Needs PyTorch, which nothing else in the tests does. Prints both likelihoods, each reckoned
twice, and the largest difference between the gradients; ends with 1 if one is above 1e-9.
"""

from __future__ import annotations

import itertools
import sys
from collections.abc import Iterator

import torch
from torch import Tensor

from models.recipe.objective import (
    anything_said,
    batch_lines,
    make_line,
    phone_bigram,
    what_was_said,
)
from voicelog.adapting.phones import NUMBER_OF, PHONES

COUNT = len(PHONES)
UTTERANCES = (
    ((("DH", "AH"), ("DH", "IY")), (("K", "AE"),)),
    ((("AH",), ("EY",)), (("EY",),), (("T", "UW"),)),
    ((("EY",), ("AH",)),),
)
LENGTHS = (7, 6, 4)
MOST_DIFFERENCE = 1e-9


def count_anything(scores: Tensor, bigram: Tensor) -> Tensor:
    """Return the likelihoods of any string, by logarithms and without scaling."""
    follow = bigram.log()
    found = []
    for row, length in enumerate(LENGTHS):
        state = torch.full((COUNT, COUNT), -1e4, dtype=torch.float64)
        state[0] = follow[COUNT, :COUNT] + scores[row, 0, 0, :, 0]
        for time in range(1, length):
            arrived = state.logsumexp(0)[:, None] + follow[:COUNT, :COUNT]
            staying, entering = scores[row, time, :, :, 1], scores[row, time, :, :, 0]
            state = torch.logaddexp(state + staying, arrived + entering)
        found.append((state.logsumexp(0) + follow[:COUNT, COUNT]).logsumexp(0))
    return torch.stack(found)


def iter_strings(words: tuple[tuple[tuple[str, ...], ...], ...]) -> Iterator[list[int]]:
    """Yield every way to say an utterance, as numbers of phones."""
    for silences in itertools.product((False, True), repeat=len(words) + 1):
        for chosen in itertools.product(*words):
            phones: list[int] = []
            for is_silent, said in zip(silences, (*chosen, ()), strict=True):
                phones += [0] * is_silent + [NUMBER_OF[name] for name in said]
            yield phones


def count_said(scores: Tensor, bigram: Tensor) -> Tensor:
    """Return the likelihoods of what was said, by adding up every path there is."""
    follow = bigram.log()
    found = []
    for row, (words, length) in enumerate(zip(UTTERANCES, LENGTHS, strict=True)):
        paths = []
        for phones in iter_strings(words):
            if len(phones) > length:
                continue
            for cuts in itertools.combinations(range(1, length), len(phones) - 1):
                edges = (0, *cuts, length)
                left, total, last = 0, torch.zeros((), dtype=torch.float64), COUNT
                for phone, (start, stop) in zip(phones, itertools.pairwise(edges), strict=True):
                    total = total + follow[last, phone] + scores[row, start, left, phone, 0]
                    total = total + scores[row, start + 1 : stop, left, phone, 1].sum()
                    left = last = phone
                paths.append(total + follow[last, COUNT])
        found.append(torch.stack(paths).logsumexp(0))
    return torch.stack(found)


def main() -> int:
    """Compare."""
    torch.manual_seed(0)
    bigram = phone_bigram(UTTERANCES, seed=1).double()
    lines = batch_lines([make_line(words) for words in UTTERANCES])
    lengths = torch.tensor(LENGTHS)
    scores = torch.randn(len(LENGTHS), max(LENGTHS), COUNT, COUNT, 2, dtype=torch.float64)
    weights = torch.tensor([1.0, 2.0, 0.5], dtype=torch.float64)
    worst = 0.0
    for name, ours, counted in (
        ("anything", lambda x: anything_said(x, lengths, bigram), count_anything),
        ("what was said", lambda x: what_was_said(x, lengths, lines, bigram), count_said),
    ):
        first, second = scores.clone().requires_grad_(), scores.clone().requires_grad_()
        values, others = ours(first), counted(second, bigram)
        (values * weights).sum().backward()
        (others * weights).sum().backward()
        assert first.grad is not None
        assert second.grad is not None
        difference = float((first.grad - second.grad).abs().max())
        print(f"{name}: {values.tolist()} and {others.tolist()}, gradients within {difference:.1e}")
        worst = max(worst, difference, float((values - others).detach().abs().max()))
    return int(worst > MOST_DIFFERENCE)


if __name__ == "__main__":
    sys.exit(main())
