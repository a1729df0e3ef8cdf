"""Saying of every statement how likely it is right, and why not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from voicelog.domain.note import Span
from voicelog.domain.statement import CorrectItem, OpenItem, RepeatItem, Statement
from voicelog.extraction.doubting.calibration import Calibration
from voicelog.extraction.doubting.evidence import (
    Family,
    Hearing,
    compare_readings,
    family_of,
    find_other_words,
)

SURE = 0.98
"""Above this nobody asks what else may have been said."""


def weigh(
    statements: Sequence[Statement],
    others: Sequence[Sequence[Statement]],
    hearing: Hearing,
    calibration: Calibration,
) -> tuple[Statement, ...]:
    """Return the statements of a heard note, each span with how likely it is right.

    Args:
        statements: what the note says.
        others: what the other readings of the note say, in the order of the readings.
        hearing: how the words of the note were heard.
        calibration: turns evidence into likelihood.
    """
    agreement = compare_readings(statements, others)
    return tuple(
        _weigh(statement, support, agreement.likeness, hearing, calibration)
        for statement, support in zip(statements, agreement.supports, strict=True)
    )


def _weigh(
    statement: Statement,
    support: float,
    likeness: float,
    hearing: Hearing,
    calibration: Calibration,
) -> Statement:
    def weigh_span(span: Span, family: Family) -> Span:
        evidence = hearing.gather(span, family, support=support, likeness=likeness)
        if evidence is None:
            return span
        likelihood = calibration.likelihood(evidence)
        otherwise = find_other_words(hearing.note, span) if likelihood < SURE else None
        return replace(span, likelihood=likelihood, otherwise=otherwise)

    family = family_of(statement)
    weighed = replace(statement, spans=tuple(weigh_span(one, family) for one in statement.spans))
    if isinstance(weighed, OpenItem | RepeatItem | CorrectItem):
        counted = tuple(weigh_span(one, Family.NUMBER) for one in weighed.counted)
        return replace(weighed, counted=counted)
    return weighed
