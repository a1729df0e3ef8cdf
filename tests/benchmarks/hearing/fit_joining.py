"""Fits the weights with which two ears are joined, on tuning voices and sessions.

    pip install scikit-learn
    python -m tests.benchmarks.hearing.fit_joining CACHE > weights.toml

Two logistic regressions. The first learns, from slots in which exactly one ear (or one more
than the other) heard what was said, which one it was. The second learns from the words of the
joined reading whether they are right. Before, the rows of each session are scored with weights
that were fitted on other sessions in other voices (on standard error), so that the gain is no
echo of the fit.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from rapidfuzz.distance import Levenshtein
from sklearn.linear_model import LogisticRegression  # type: ignore[import-untyped]

from tests.benchmarks.hearing.both_ears import (
    HeardSession,
    Tally,
    compare,
    iter_heard_sessions,
    keys_of,
    keys_said,
    print_table,
)
from tests.benchmarks.hearing.cache import HearingCache
from tests.gold.score import Score
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.hearing.evidence import Evidence
from voicelog.hearing.joining import Joiner
from voicelog.hearing.readings import Decision, Readings
from voicelog.hearing.weights import Weights, load_weights
from voicelog.vocabulary import load_vocabulary

_HEAD = """\
# How much each kind of evidence counts when two ears are joined; log odds.
# Made by `python -m tests.benchmarks.hearing.fit_joining CACHE`, from {notes} notes of the tuning
# sessions (tests/gold), heard by tiny.en with the standing hot words and by vosk-bench, spoken by
# {voices}.
# No held-out voice and no held-back session is in it.
"""


@dataclass(frozen=True, slots=True)
class Lesson:
    """One example: the evidence, and what was true."""

    evidence: Evidence
    is_true: bool


Lessons = Mapping[tuple[str, str], Sequence[Lesson]]
"""By voice and session."""


def lessons_on_slots(joiner: Joiner, one: HeardSession) -> Iterator[Lesson]:
    """Yield, for each slot where one ear heard better, whether it was the closed one."""
    for said, readings in one.readings():
        meant = keys_said(said)
        decisions = joiner.decide(readings)
        for at, decision in enumerate(decisions):
            evidence = joiner.describe(decisions, at, readings)
            if evidence is None:
                continue
            misses = [
                _misses([*decisions[:at], tried, *decisions[at + 1 :]], readings, meant)
                for tried in (
                    Decision(slot=decision.slot),
                    Decision(slot=decision.slot, takes_closed=True),
                )
            ]
            if misses[0] != misses[1]:
                yield Lesson(evidence, misses[1] < misses[0])


def _misses(decisions: Sequence[Decision], readings: Readings, meant: Sequence[str]) -> int:
    taken = readings.put_together(decisions)
    return Levenshtein.distance(keys_of(word for words in taken for word in words), meant)


def lessons_on_words(joiner: Joiner, one: HeardSession) -> Iterator[Lesson]:
    """Yield, for each piece of the joined reading, whether it was said."""
    for said, readings in one.readings():
        meant = keys_said(said)
        decisions = joiner.decide(readings)
        taken = readings.put_together(decisions)
        heard = [
            (key, decision)
            for decision, words in zip(decisions, taken, strict=True)
            for key in keys_of(words)
        ]
        keys = [key for key, _ in heard]
        right = {
            at
            for block in Levenshtein.opcodes(keys, meant)
            if block.tag == "equal"
            for at in range(block.src_start, block.src_end)
        }
        for at, (_, decision) in enumerate(heard):
            yield Lesson(joiner.describe_right(decision, decisions, readings), at in right)


def fit(lessons: Sequence[Lesson], names: Sequence[str]) -> dict[str, float]:
    """Return a weight for each name."""
    evidence = np.array([[lesson.evidence[name] for name in names] for lesson in lessons])
    truth = np.array([lesson.is_true for lesson in lessons])
    model = LogisticRegression(fit_intercept=False, max_iter=2000).fit(evidence, truth)
    return dict(zip(names, model.coef_[0].tolist(), strict=True))


def gather_lessons(sessions: Sequence[HeardSession], reader: Reader) -> Lessons:
    """Return what each session teaches about whom to trust, by voice and name.

    What speaks for an ear depends on what stands around, so the shipped weights are where it
    begins: a second run, with what the first one gave, settles them.
    """
    joiner = Joiner(reader, load_weights())
    return {(one.voice, one.session.name): list(lessons_on_slots(joiner, one)) for one in sessions}


def cross_validate(
    sessions: Sequence[HeardSession], reader: Reader, lessons: Lessons
) -> dict[tuple[str, str], Tally]:
    """Return tallies of sessions, each joined with weights that saw neither it nor its voice."""
    shipped = load_weights()
    tallies: dict[tuple[str, str], Tally] = {}
    for one in sessions:
        others = [
            lesson
            for (voice, name), found in lessons.items()
            if voice != one.voice and name != one.session.name
            for lesson in found
        ]
        weights = Weights(closed=fit(others, list(shipped.closed)), right=shipped.right)
        for key, tally in compare([one], Joiner(reader, weights), reader).items():
            tallies.setdefault(key, Tally(Score())).include(tally)
    return tallies


def learn(sessions: Sequence[HeardSession], reader: Reader, lessons: Lessons) -> Weights:
    """Return weights fitted on all of these sessions."""
    shipped = load_weights()
    slots = [lesson for one in sessions for lesson in lessons[(one.voice, one.session.name)]]
    closed = fit(slots, list(shipped.closed))
    joiner = Joiner(reader, Weights(closed=closed, right=shipped.right))
    words = [lesson for one in sessions for lesson in lessons_on_words(joiner, one)]
    return Weights(closed=closed, right=fit(words, list(shipped.right)))


def print_weights(weights: Weights, sessions: Sequence[HeardSession]) -> None:
    """Print the table that voicelog ships."""
    voices = ", ".join(sorted({one.voice for one in sessions}))
    print(_HEAD.format(notes=sum(len(one.opened) for one in sessions), voices=voices))
    for title, table in (("closed", weights.closed), ("right", weights.right)):
        print(f"[{title}]")
        for name, weight in table.items():
            print(f'"{name}" = {weight:.3f}')
        print()


def main() -> None:
    """Cross-validate on standard error, print the weights."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    given = parser.parse_args()
    sessions = list(iter_heard_sessions(HearingCache(given.cache), "tuning"))
    reader = Reader(load_vocabulary(), ReadingOptions())
    lessons = gather_lessons(sessions, reader)
    with redirect_stdout(sys.stderr):
        print_table(cross_validate(sessions, reader, lessons))
    print_weights(learn(sessions, reader, lessons), sessions)


if __name__ == "__main__":
    main()
