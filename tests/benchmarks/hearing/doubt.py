"""Does doubt mean something? Confidence against what came true, and what a threshold costs.

    python -m tests.benchmarks.hearing.doubt CACHE [--set held_back] [--picture FILE.png]

CACHE as for ``tests.benchmarks.hearing.hear``; sessions of which every note was heard are
judged as ``judged`` says. Prints, by voice and engine and for all: how many entries hold a
wrong field, how many are queried, how many wrong ones are not; the expected calibration error
(ten bins of equal width, Naeini et al. 2015, from memory); and the trade-off at thresholds.
Intervals are Wilson's, 95 %. Rows that were missed altogether can't be queried; they are
counted beside.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.benchmarks.hearing.cache import HearingCache
from tests.benchmarks.hearing.conditions import CLEAN
from tests.benchmarks.hearing.fit_doubt import STANDING
from tests.benchmarks.hearing.judged import Session, heard_sessions, judge, typed_sessions
from voicelog.domain.error_rate import wilson_interval
from voicelog.extraction.doubting.unclear import DEFAULT_QUERY_BELOW
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

BINS = 10
THRESHOLDS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One entry: how sure the program was, and whether it was right.

    Attributes:
        group: voice and engine.
        confidence: the program's, 0..1.
        is_asked: whether a reading rule raised a doubt, whatever the threshold.
        is_wrong: whether a field is wrong.
        is_strictly_wrong: the same, mistakes carried on from earlier rows counted too.
    """

    group: str
    confidence: float
    is_asked: bool
    is_wrong: bool
    is_strictly_wrong: bool

    def is_queried(self, threshold: float) -> bool:
        """Whether it is queried at this threshold."""
        return self.is_asked or self.confidence < threshold


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcomes:
    """Entries of some sessions, and how many rows were missed."""

    entries: tuple[Outcome, ...]
    missed: int

    def of(self, group: str) -> tuple[Outcome, ...]:
        """Return the entries of one voice and engine."""
        return tuple(one for one in self.entries if one.group == group)


def collect(sessions: Iterable[Session]) -> Outcomes:
    """Judge sessions with the shipped calibration."""
    # With no threshold the only doubts are those of the reading rules.
    reader = Reader(load_vocabulary(), ReadingOptions(query_below=0.0))
    entries: list[Outcome] = []
    missed = 0
    for session in sessions:
        judged, lost = judge(session, reader)
        missed += lost
        entries += [
            Outcome(
                group=" ".join(session.where.split()[1:-1]),
                confidence=one.entry.confidence,
                is_asked=bool(one.entry.doubts),
                is_wrong=bool(one.wrong),
                is_strictly_wrong=bool(one.strictly_wrong),
            )
            for one in judged
        ]
    return Outcomes(entries=tuple(entries), missed=missed)


def calibration_error(outcomes: Sequence[Outcome]) -> float:
    """Return the expected calibration error: mean distance of confidence and share right.

    >>> sure = Outcome(group="", confidence=0.8, is_asked=False, is_wrong=False,
    ...                is_strictly_wrong=False)
    >>> round(calibration_error([sure]), 2)
    0.2
    """
    return sum(
        len(inside) / len(outcomes) * abs(said - true) for _, inside, said, true in bins(outcomes)
    )


def bins(
    outcomes: Sequence[Outcome],
) -> Iterable[tuple[int, tuple[Outcome, ...], float, float]]:
    """Yield the bins that hold entries: number, entries, mean confidence, share right."""
    for number in range(BINS):
        inside = tuple(
            one for one in outcomes if min(int(one.confidence * BINS), BINS - 1) == number
        )
        if inside:
            said = float(np.mean([one.confidence for one in inside]))
            yield number, inside, said, float(np.mean([not one.is_wrong for one in inside]))


def say_share(count: int, of: int) -> str:
    """Return a share with its counts and interval."""
    if not of:
        return "none"
    low, high = wilson_interval(count, of)
    return f"{count}/{of} = {count / of:.1%} ({low:.1%} to {high:.1%})"


def tell(outcomes: Outcomes, *, threshold: float) -> None:
    """Print the tables."""
    print(
        f"| voice and engine | entries | wrong | queried below {threshold} "
        "| wrong, not queried | the same, carried mistakes too | calibration error |"
    )
    print("|---|---|---|---|---|---|---|")
    groups = sorted({one.group for one in outcomes.entries})
    for name, entries in (*((one, outcomes.of(one)) for one in groups), ("all", outcomes.entries)):
        left = [one for one in entries if not one.is_queried(threshold)]
        print(
            f"| {name} | {len(entries)} "
            f"| {say_share(sum(e.is_wrong for e in entries), len(entries))} "
            f"| {say_share(len(entries) - len(left), len(entries))} "
            f"| {say_share(sum(e.is_wrong for e in left), len(left))} "
            f"| {say_share(sum(e.is_strictly_wrong for e in left), len(left))} "
            f"| {calibration_error(entries):.3f} |"
        )
    print(f"\n{outcomes.missed} rows were missed altogether.\n")
    print("| queried below | queried | wrong, not queried | wrong ones that are queried |")
    print("|---|---|---|---|")
    entries = outcomes.entries
    wrong = [one for one in entries if one.is_wrong]
    for at in THRESHOLDS:
        left = [one for one in entries if not one.is_queried(at)]
        print(
            f"| {at} | {say_share(len(entries) - len(left), len(entries))} "
            f"| {say_share(sum(one.is_wrong for one in left), len(left))} "
            f"| {say_share(sum(one.is_queried(at) for one in wrong), len(wrong))} |"
        )
    print("\n| confidence | entries | mean | right |\n|---|---|---|---|")
    for number, inside, said, _ in bins(entries):
        right = sum(not one.is_wrong for one in inside)
        low = number / BINS
        print(
            f"| {low:.1f} to {low + 1 / BINS:.1f} | {len(inside)} | {said:.3f} "
            f"| {say_share(right, len(inside))} |"
        )


def draw(outcomes: Outcomes, path: Path, *, title: str) -> None:
    """Write the reliability diagram and the trade-off curve as one small picture."""
    import matplotlib as mpl  # noqa: PLC0415

    mpl.use("Agg")
    from matplotlib import pyplot as plt  # noqa: PLC0415

    entries = outcomes.entries
    figure, (left, right) = plt.subplots(1, 2, figsize=(9, 4), dpi=90, layout="constrained")
    found = list(bins(entries))
    said = [one[2] for one in found]
    true = [one[3] for one in found]
    spans = [wilson_interval(sum(not e.is_wrong for e in inside), len(inside))
             for _, inside, _, _ in found]  # fmt: skip
    below = [max(0.0, share - low) for share, (low, _) in zip(true, spans, strict=True)]
    above = [max(0.0, high - share) for share, (_, high) in zip(true, spans, strict=True)]
    left.plot([0, 1], [0, 1], color="0.6", linestyle="--", label="as said")
    left.errorbar(said, true, yerr=[below, above], fmt="o-", color="#1f5f8b", capsize=3,
                  label="entries, with 95 % interval")  # fmt: skip
    for _, inside, x, y in found:
        left.annotate(str(len(inside)), (x, y), textcoords="offset points", xytext=(6, -12),
                      fontsize=8, color="0.3")  # fmt: skip
    left.set(xlabel="confidence", ylabel="share right in every field", xlim=(0, 1), ylim=(0, 1.02),
             title=f"error {calibration_error(entries):.3f}")  # fmt: skip
    left.legend(loc="upper left", fontsize=8)
    steps = np.linspace(0, 1, 101)
    queried, wrong = [], []
    for at in steps:
        kept = [one for one in entries if not one.is_queried(float(at))]
        queried.append(1 - len(kept) / len(entries))
        wrong.append(np.mean([one.is_wrong for one in kept]) if kept else 0.0)
    right.plot(queried, wrong, color="#a23b2a")
    for at in (0.5, 0.8, 0.95):
        index = round(at * 100)
        right.annotate(f"below {at}", (queried[index], wrong[index]), fontsize=8,
                       textcoords="offset points", xytext=(5, 5))  # fmt: skip
        right.plot(queried[index], wrong[index], "o", color="#a23b2a")
    right.set(xlabel="share queried", ylabel="wrong among those not queried", xlim=(0, 1),
              ylim=(0, None), title="what a threshold costs")  # fmt: skip
    figure.suptitle(title, fontsize=10)
    figure.savefig(path)


def main() -> None:
    """Judge and tell."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    parser.add_argument(
        "--set", dest="set_name", default="held_back", choices=["tuning", "held_back"]
    )
    parser.add_argument("--engine", dest="engines", action="append", help="default: all")
    parser.add_argument("--typed", action="store_true", help="typed notes instead of heard ones")
    parser.add_argument("--threshold", type=float, default=DEFAULT_QUERY_BELOW)
    parser.add_argument("--picture", type=Path)
    given = parser.parse_args()
    if given.typed:
        sessions: Iterable[Session] = typed_sessions(given.set_name)
    else:
        cache = HearingCache(given.cache)
        sessions = [
            session
            for cell in cache.cells()
            if cell.set_name == given.set_name
            and cell.condition == CLEAN
            and cell.biasing in STANDING
            and (not given.engines or cell.engine in given.engines)
            for session in heard_sessions(cache, cell)
        ]
    outcomes = collect(sessions)
    tell(outcomes, threshold=given.threshold)
    if given.picture:
        draw(outcomes, given.picture, title=f"{given.set_name} sessions")


if __name__ == "__main__":
    main()
