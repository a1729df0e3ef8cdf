"""Fits how likely values and entries are right, on tuning voices and tuning sessions only.

    python -m tests.benchmarks.hearing.fit_doubt CACHE

CACHE as for ``tests.benchmarks.hearing.hear``; what it lacks is left out. Two steps, each a
logistic regression (scikit-learn) whose weights may only be positive, so that more assurance
never makes a value less likely: how likely is a value right, by how its words were heard (for
each engine); how likely is a whole entry right, by the likelihood of its values and by its
doubts (for the default engine). Writes ``voicelog/extraction/doubting/calibration.toml``.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
from sklearn.linear_model import LogisticRegression  # type: ignore[import-untyped]

from tests.benchmarks.hearing.cache import HearingCache
from tests.benchmarks.hearing.conditions import CLEAN
from tests.benchmarks.hearing.judged import Judged, Session, heard_sessions, judge, typed_sessions
from voicelog.domain.entry import Entry
from voicelog.domain.note import Span
from voicelog.extraction.doubting import calibration
from voicelog.extraction.doubting.calibration import (
    FittedCalibration,
    Grounds,
    describe_evidence,
    describe_grounds,
)
from voicelog.extraction.doubting.evidence import Evidence
from voicelog.extraction.doubting.unclear import find_grounds
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

TABLE = Path(calibration.__file__).with_name("calibration.toml")
ENTRIES_HEARD_BY = "both"
"""The default engine: how surely an entry follows from its values is fitted where it heard them."""

_FREE = frozenset({"always", "a place", "a number", "a term", "a text"})
"""Weights that may be negative: they say how hard a kind of value is."""

Weights = dict[str, float]


@dataclass(slots=True)
class Recording:
    """A calibration that only takes down what it is asked about.

    Attributes:
        seen: the evidence; the answer to each question is its number, as a share of one.
    """

    seen: list[Evidence] = field(default_factory=list)

    def likelihood(self, evidence: Evidence) -> float:
        """Take down the evidence."""
        self.seen.append(evidence)
        return 1 / (len(self.seen) + 1)

    def confidence(self, grounds: Grounds) -> float:
        """Never be in doubt."""
        del grounds
        return 1.0

    def evidence_of(self, likelihood: float) -> Evidence:
        """Return the evidence that an answer stands for."""
        return self.seen[round(1 / likelihood) - 2]


def tuning_sessions(cache: HearingCache) -> tuple[Session, ...]:
    """Return the tuning sessions as tuning voices said them, those that every engine heard."""
    heard: dict[tuple[str, str], dict[str, Session]] = {}
    for cell in cache.cells():
        if cell.set_name == "tuning" and cell.condition == CLEAN and cell.biasing in STANDING:
            for session in heard_sessions(cache, cell):
                heard.setdefault((cell.voice, session.name), {})[cell.engine] = session
    engines = {engine for sessions in heard.values() for engine in sessions}
    return tuple(
        session
        for sessions in heard.values()
        if sessions.keys() == engines
        for session in sessions.values()
    )


STANDING = frozenset({"standing", "none", "moment"})


def fit(sessions: Sequence[Session]) -> FittedCalibration:
    """Return the calibration that heard and typed tuning sessions give."""
    recording = Recording()
    # Its answers are no likelihoods: nothing may be doubted for them.
    options = ReadingOptions(query_below=0.0)
    reader = Reader(load_vocabulary(), options, calibration=recording)
    heard = [one for session in sessions for one in judge(session, reader)[0]]
    typed = [one for session in typed_sessions("tuning") for one in judge(session, reader)[0]]
    right = sum(not one.wrong for one in typed if not one.entry.doubts)
    wrong = sum(bool(one.wrong) for one in typed if not one.entry.doubts)
    first = FittedCalibration(values=fit_values(_values(heard, recording)), entries={})
    grounds = [
        (find_grounds(_weigh_again(one.entry, recording, first)), not one.wrong)
        for one in heard
        if one.where.split()[2] == ENTRIES_HEARD_BY
    ]
    entries = {
        "heard": fit_entries(grounds),
        # One more right and one more wrong, so that nothing is ever certain.
        "typed": {"always": round(math.log((right + 1) / (wrong + 1)), 3)},
    }
    return replace(first, entries=entries)


def _weigh_again(entry: Entry, recording: Recording, calibration: FittedCalibration) -> Entry:
    """Return an entry whose likelihoods are those of a calibration."""

    def weigh(span: Span) -> Span:
        if span.likelihood is None:
            return span
        evidence = recording.evidence_of(span.likelihood)
        return replace(span, likelihood=calibration.likelihood(evidence))

    sources = {
        name: tuple(map(weigh, origin)) if isinstance(origin, tuple) else origin
        for name, origin in entry.sources.items()
    }
    return replace(entry, sources=sources)


def _values(judged: Iterable[Judged], recording: Recording) -> list[tuple[Evidence, bool]]:
    return [
        (recording.evidence_of(likelihood), not {name, "kind"} & one.strictly_wrong)
        for one in judged
        for name, likelihood in _likelihoods(one.entry)
    ]


def _likelihoods(entry: Entry) -> Iterable[tuple[str, float]]:
    for name, origin in entry.sources.items():
        if isinstance(origin, tuple):
            for span in origin:
                if span.likelihood is not None:
                    yield name, span.likelihood


def fit_values(cases: Sequence[tuple[Evidence, bool]]) -> dict[str, Weights]:
    """Return the weights of the evidence on values, by engine."""
    return {
        engine: fit_weights(
            [(describe_evidence(one), right) for one, right in cases if one.engine == engine]
        )
        for engine in sorted({one.engine for one, _ in cases})
    }


def fit_entries(cases: Sequence[tuple[Grounds, bool]]) -> Weights:
    """Return the weights of the grounds of entries."""
    return fit_weights([(describe_grounds(one), right) for one, right in cases])


def fit_weights(cases: Sequence[tuple[Mapping[str, float], bool]]) -> Weights:
    """Return the weights of named figures that best tell right from wrong."""
    names = sorted({name for figures, _ in cases for name in figures} - {"always"})
    right = np.array([is_right for _, is_right in cases])
    # One right and one wrong case of everything, so that nothing is ever certain.
    while True:
        figures = np.array([[one.get(name, 0.0) for name in names] for one, _ in cases])
        model = _fit_once(figures, right)
        weights = dict(zip(names, model.coef_[0], strict=True))
        negative = [name for name in names if name not in _FREE and weights[name] < 0]
        if not negative:
            break
        names = [name for name in names if name not in negative]
    found = {"always": float(model.intercept_[0]), **weights}
    return {name: round(float(weight), 3) for name, weight in found.items()}


def _fit_once(figures: npt.NDArray[np.float64], right: npt.NDArray[np.bool_]) -> LogisticRegression:
    middle = figures.mean(axis=0, keepdims=True)
    figures = np.vstack([figures, middle, middle])
    outcome = np.append(right, [True, False])
    return LogisticRegression(C=1.0, max_iter=2000).fit(figures, outcome)


def write_table(fitted: FittedCalibration, *, origin: str) -> str:
    """Return the table as TOML."""
    lines = [
        "# How likely a value or an entry is right: log odds, as weighted sums.",
        "# Written by python -m tests.benchmarks.hearing.fit_doubt; not edited by hand.",
        f"# Fitted on {origin}.",
    ]
    for kind, tables in (("value", fitted.values), ("entry", fitted.entries)):
        for name, weights in tables.items():
            lines += ["", f"[{kind}.{name}]"]
            lines += [f'"{key}" = {weight}' for key, weight in weights.items()]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Fit and write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    parser.add_argument("--dry-run", action="store_true", help="only print the table")
    given = parser.parse_args()
    sessions = tuning_sessions(HearingCache(given.cache))
    engines, voices = (
        ", ".join(sorted({session.where.split()[at] for session in sessions})) for at in (2, 1)
    )
    origin = f"{len(sessions)} tuning sessions as heard by {engines}, spoken by\n# {voices}"
    text = write_table(fit(sessions), origin=origin)
    print(text)
    if not given.dry_run:
        TABLE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
