"""Training the network on the features of a folder.

    python -m models.recipe.training FOLDER OUT --seconds 900

Writes ``OUT.npz``: the weights as numpy arrays, nothing of PyTorch in it.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch.utils.data import DataLoader, Dataset

from models.recipe.features import splice
from models.recipe.network import Network
from models.recipe.network_shape import LAYERS
from models.recipe.objective import (
    LineBatch,
    anything_said,
    batch_lines,
    make_line,
    phone_bigram,
    what_was_said,
)

PEAK_RATE = 2e-3
_WORKERS = max(1, (os.cpu_count() or 2) // 2)
_KEPT_BACK = 300
_BATCH_ROWS = 18_000
"""Rows of the network's outputs in one batch, 33 a second."""


class Speech:
    """The features of a folder, and batches of them."""

    def __init__(self, folder: Path) -> None:
        self._features = np.load(folder / "features.npy", mmap_mode="r")
        utterances = json.loads((folder / "utterances.json").read_text("utf-8"))
        np.random.default_rng(2).shuffle(utterances)
        self.kept_back = utterances[:_KEPT_BACK]
        self.training = utterances[_KEPT_BACK:]

    def make_batches(self, draw: np.random.Generator) -> list[list[Any]]:
        """Return batches of utterances of like length, once through, in any order."""
        by_length = sorted(self.training, key=lambda one: one["frames"] + draw.random() * 60)
        batches: list[list[Any]] = [[]]
        for utterance in by_length:
            longest = utterance["frames"] / 3
            if batches[-1] and longest * (len(batches[-1]) + 1) > _BATCH_ROWS:
                batches.append([])
            batches[-1].append(utterance)
        return [batches[number] for number in draw.permutation(len(batches))]

    def collate(self, batch: list[Any], draw: np.random.Generator | None) -> Batch:
        """Return a batch; with a generator, times are masked and shifted."""
        spliced = []
        for one in batch:
            features = np.array(self._features[one["at"] : one["at"] + one["frames"]], np.float32)
            shift = 0
            if draw is not None:
                shift = int(draw.integers(3))
                if draw.random() < 0.5 and len(features) > 60:
                    at = draw.integers(len(features) - 20)
                    features[at : at + draw.integers(5, 20)] = 0
            spliced.append(splice(features, extra=LAYERS, shift=shift))
        longest = max(map(len, spliced))
        rows = np.zeros((len(batch), longest, spliced[0].shape[1]), np.float32)
        for number, one in enumerate(spliced):
            rows[number, : len(one)] = one
            rows[number, len(one) :] = one[-1]
        return Batch(
            rows=torch.from_numpy(rows),
            lengths=torch.tensor([len(one) - 2 * LAYERS for one in spliced]),
            lines=batch_lines([make_line(one["phones"]) for one in batch]),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Batch:
    """Utterances side by side: rows (batch, time, 200), lengths (batch,), and their lines."""

    rows: torch.Tensor
    lengths: torch.Tensor
    lines: LineBatch

    def to(self, device: torch.device) -> Batch:
        """Return the same on another device."""
        return Batch(
            rows=self.rows.to(device),
            lengths=self.lengths.to(device),
            lines=self.lines.to(device),
        )


class Pass(Dataset[Batch]):
    """Once through all speech, for other processes to prepare."""

    def __init__(self, speech: Speech, *, seed: int) -> None:
        self._speech = speech
        self._seed = seed
        self._batches = speech.make_batches(np.random.default_rng(seed))

    def __len__(self) -> int:
        return len(self._batches)

    def __getitem__(self, number: int) -> Batch:
        draw = np.random.default_rng([self._seed, number])
        return self._speech.collate(self._batches[number], draw)


def iter_batches(speech: Speech) -> Iterator[Batch]:
    """Yield batches without end."""
    for seed in itertools.count(4):
        yield from DataLoader(
            Pass(speech, seed=seed), batch_size=None, num_workers=_WORKERS, prefetch_factor=4
        )


def score(
    network: Network, batch: Batch, bigram: torch.Tensor
) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
    """Return the log likelihoods of what was said and of anything, and the scores."""
    with torch.autocast(bigram.device.type, dtype=torch.bfloat16):
        scores = network(batch.rows)
    scores = scores.float().clamp(-30, 30)
    said = what_was_said(scores, batch.lengths, batch.lines, bigram)
    anything = anything_said(scores, batch.lengths, bigram)
    return said, anything, scores


def main() -> None:
    """Train for the given time."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seconds", type=float, default=900)
    wanted = parser.parse_args()
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(0)
    torch.backends.cuda.matmul.allow_tf32 = True
    speech = Speech(wanted.folder)
    bigram = phone_bigram((one["phones"] for one in speech.training), seed=3).to(device)
    network = Network().to(device)
    print("parameters", sum(weights.numel() for weights in network.parameters()), flush=True)
    rest = [weights for name, weights in network.named_parameters() if name != "pair.weight"]
    optimiser = torch.optim.AdamW(
        [
            {"params": rest, "weight_decay": 1e-4},
            {"params": [network.pair.weight], "weight_decay": 0.5},
        ],
        lr=PEAK_RATE,
        betas=(0.9, 0.98),
    )
    began = time.monotonic()
    for step, prepared in enumerate(iter_batches(speech)):
        done = (time.monotonic() - began) / wanted.seconds
        if done >= 1:
            break
        falling = 0.5 * (1 + math.cos(math.pi * max(0.0, done - 0.1) / 0.9))
        for group in optimiser.param_groups:
            group["lr"] = PEAK_RATE * min(1, (step + 20) / 300) * max(0.005, falling)
        batch = prepared.to(device)
        said, anything, scores = score(network, batch, bigram)
        fits = (said > -3000).float()
        rows = batch.lengths.sum()
        loss = ((anything - said) * fits).sum() / rows + 2e-4 * scores.square().mean()
        optimiser.zero_grad()
        loss.backward()
        size = torch.nn.utils.clip_grad_norm_(network.parameters(), 2.0)
        if torch.isfinite(size):
            optimiser.step()
        if step % 100 == 0 or step < 5:
            gained = float(((said - anything) * fits).sum().detach() / rows)
            print(
                f"{step}: {time.monotonic() - began:.0f} s, {gained:.4f} per row, "
                f"gradient {float(size):.2f}, fits {float(fits.mean()):.2f}, {len(fits)} at once",
                flush=True,
            )
        if step % 2000 == 1999:
            write_weights(network, wanted.out, wanted.folder)
    write_weights(network, wanted.out, wanted.folder)
    report(network, speech, bigram)


def write_weights(network: Network, target: Path, folder: Path) -> None:
    """Write the weights and the mean of all speech, as numpy keeps them."""
    arrays = {name: value.detach().cpu().numpy() for name, value in network.state_dict().items()}
    arrays["global_mean"] = np.load(folder / "global_mean.npy")
    pair = arrays.pop("pair.weight")
    np.savez(target.with_suffix(".npz"), **arrays)
    np.savez(target.with_suffix(".pairs.npz"), **{"pair.weight": pair})


def report(network: Network, speech: Speech, bigram: torch.Tensor) -> None:
    """Print how well speech kept back is told from anything else, by voice."""
    network.eval()
    by_source: dict[str, list[float]] = {}
    with torch.no_grad():
        for one in speech.kept_back:
            batch = speech.collate([one], None).to(bigram.device)
            said, anything, _ = score(network, batch, bigram)
            per_row = float((said - anything) / batch.lengths[0])
            by_source.setdefault(one["source"].split("-")[0], []).append(per_row)
    for source, values in sorted(by_source.items()):
        print(f"kept back, {source}: {np.mean(values):.4f} per row, {len(values)} utterances")


if __name__ == "__main__":
    main()
