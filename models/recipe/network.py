"""The network: a factored time-delay network, 33 outputs a second, 0.35 s of context each way.

After Povey et al., "Semi-orthogonal low-rank matrix factorization for deep neural
networks" (Interspeech 2018), without the orthogonality constraint. The last layer scores a
phone by itself plus a correction for the phone before it; the correction passes through few
numbers and is kept small, so that pairs hardly heard in training fall back on the phone alone.
"""

from __future__ import annotations

import torch
from torch import Tensor, nn

from models.recipe.network_shape import BOTTLENECK, BYPASS, HIDDEN, INPUT, LAYERS, PAIR_RANK
from voicelog.adapting.phones import PHONES


class Network(nn.Module):
    """Spliced features in, one score for entering and one for staying per pair of phones out."""

    def __init__(self) -> None:
        super().__init__()
        phones = len(PHONES)
        self.first = nn.Linear(INPUT, HIDDEN, bias=False)
        self.first_norm = nn.BatchNorm1d(HIDDEN)
        self.narrow = nn.ModuleList(
            nn.Linear(3 * HIDDEN, BOTTLENECK, bias=False) for _ in range(LAYERS)
        )
        self.wide = nn.ModuleList(nn.Linear(BOTTLENECK, HIDDEN, bias=False) for _ in range(LAYERS))
        self.norms = nn.ModuleList(nn.BatchNorm1d(HIDDEN) for _ in range(LAYERS))
        self.phone = nn.Linear(HIDDEN, 2 * phones)
        self.pair_narrow = nn.Linear(HIDDEN, PAIR_RANK, bias=False)
        self.pair = nn.Linear(PAIR_RANK, 2 * phones * phones, bias=False)
        nn.init.zeros_(self.phone.bias)
        nn.init.normal_(self.phone.weight, std=0.015)
        nn.init.zeros_(self.pair.weight)
        self.dropout = 0.1

    def forward(self, rows: Tensor) -> Tensor:
        """Return the scores.

        Args:
            rows: shape (batch, time + 2 * LAYERS, 200).

        Returns:
            shape (batch, time, phones, phones, 2): the phone before, the phone, and
            entering or staying.
        """
        hidden = self._normalised(self.first_norm, self.first(rows))
        for narrow, wide, norm in zip(self.narrow, self.wide, self.norms, strict=True):
            around = torch.cat([hidden[:, :-2], hidden[:, 1:-1], hidden[:, 2:]], -1)
            new = self._normalised(norm, wide(narrow(around)))
            if self.training:
                # One mask for all times, as Kaldi's networks have it.
                kept = torch.rand(new.shape[0], 1, new.shape[2], device=new.device) > self.dropout
                new = new * kept / (1 - self.dropout)
            hidden = BYPASS * hidden[:, 1:-1] + new
        phones = len(PHONES)
        # Scores are differences of logarithms: sixteen bits would be too coarse for them.
        with torch.autocast(hidden.device.type, enabled=False):
            return self._scores(hidden.float(), phones)

    def _scores(self, hidden: Tensor, phones: int) -> Tensor:
        alone = self.phone(hidden).view(*hidden.shape[:2], 1, phones, 2)
        return alone + self.pair(self.pair_narrow(hidden)).view(
            *hidden.shape[:2], phones, phones, 2
        )

    @staticmethod
    def _normalised(norm: nn.Module, values: Tensor) -> Tensor:
        flat = norm(values.reshape(-1, values.shape[-1]))
        return torch.relu(flat.view(values.shape))
