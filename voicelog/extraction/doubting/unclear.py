"""Doubts about what was heard unclearly: raised where an entry is less sure than wanted."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from types import MappingProxyType

from voicelog.domain.entry import Doubt, Entry, Kind
from voicelog.domain.note import Span
from voicelog.domain.place import Place
from voicelog.domain.statement import GoTo, NameAccession, Statement
from voicelog.extraction.doubting.calibration import Calibration, Grounds

DEFAULT_QUERY_BELOW = 0.5
"""Confidence under which an entry is queried, where the settings say nothing else."""

NOT_UNDERSTOOD = "not understood: "
"""How the doubt about words that fit nothing begins."""
_UNCLEAR = "heard unclearly: "
_OR = re.compile(r"heard ('.*'|\".*\") or ('.*'|\".*\")")
_OF_ITEMS = ("attachment", "adhesion", "dimensions", "date", "enclosure")
_STANDS_OUT = 2.0
"""Values half as unsure as the most unsure one are named beside it."""


def find_grounds(entry: Entry) -> Grounds:
    """Return what the confidence in an entry rests on."""
    unsure = [-math.log(one) for _, span in _heard(entry) if (one := span.likelihood) is not None]
    doubts = {doubt.message for doubt in entry.doubts if not is_unclear(doubt)}
    not_understood = sum(one.startswith(NOT_UNDERSTOOD) for one in doubts)
    return Grounds(
        unsure=sum(unsure),
        least_sure=max(unsure, default=0.0),
        heard=bool(unsure),
        not_understood=not_understood,
        contradicted=len(doubts) - not_understood,
        misplaced=sum(
            getattr(entry, name) not in (None, ()) for name in _OF_ITEMS if entry.kind is Kind.LEAF
        ),
    )


def judge_entry(
    entry: Entry, calibration: Calibration, *, query_below: float
) -> tuple[float, tuple[Doubt, ...]]:
    """Return the confidence in an entry, and its doubts with those about unclear words.

    Args:
        entry: the entry with its values and doubts.
        calibration: turns grounds into confidence.
        query_below: an entry with less confidence gets a doubt about its least sure values.
    """
    confidence = calibration.confidence(find_grounds(entry))
    doubts = [doubt for doubt in entry.doubts if not is_unclear(doubt)]
    if confidence < query_below:
        doubts += find_unclear(entry)
    return round(confidence, 3), tuple(dict.fromkeys(doubts))


def find_unclear(entry: Entry) -> tuple[Doubt, ...]:
    """Return a doubt for each of the values that were heard least clearly."""
    heard = [
        (-math.log(likelihood), field, span)
        for field, span in _heard(entry)
        if (likelihood := span.likelihood) is not None and likelihood < 1
    ]
    worst = max((unsure for unsure, _, _ in heard), default=0.0)
    return tuple(
        dict.fromkeys(
            Doubt(message=say_unclear(span), field=field)
            for unsure, field, span in heard
            if unsure * _STANDS_OUT >= worst
        )
    )


def say_unclear(span: Span) -> str:
    """Return why the words of a span are doubtful.

    >>> say_unclear(Span(note=1, text="glassine", first=0, last=8, otherwise="gasoline"))
    "heard 'glassine' or 'gasoline'"
    """
    if span.otherwise is None:
        return f"{_UNCLEAR}{span.text!r}"
    return f"heard {span.text!r} or {span.otherwise!r}"


def is_unclear(doubt: Doubt) -> bool:
    """Whether a doubt is one of those that this module words."""
    return doubt.message.startswith(_UNCLEAR) or _OR.fullmatch(doubt.message) is not None


def _heard(entry: Entry) -> list[tuple[str, Span]]:
    return [
        (field, span)
        for field, origin in entry.sources.items()
        if isinstance(origin, tuple)
        for span in origin
    ]


def doubt_place(
    statement: Statement, *, here: Place | None, register: Sequence[str], query_below: float
) -> Statement:
    """Return a statement with a doubt where the place it names was probably misheard.

    What is carried on to later entries is asked about at once. A leaf that follows on the
    present one, and an accession number that is in the register, are believed.

    Args:
        statement: a statement; others than places are returned as they are.
        here: where the handler is.
        register: the accession numbers in use.
        query_below: the likelihood under which a place is doubted.
    """
    match statement:
        case GoTo() if statement.leaf is not None and not _follows(statement.leaf, here):
            pass
        case NameAccession() if statement.accession not in register:
            pass
        case _:
            return statement
    unclear = [
        span
        for span in statement.spans
        if span.likelihood is not None and span.likelihood < query_below
    ]
    doubts = tuple(f"the place was {say_unclear(span)}" for span in unclear)
    return replace(statement, doubts=(*statement.doubts, *doubts))


def _follows(leaf: str, here: Place | None) -> bool:
    """Whether a leaf is the present one or the next."""
    there = Place(leaf=leaf)
    if here is None or here.number is None or there.number is None:
        return False
    return there.number - here.number in {0, 1}


def settle_heard(entry: Entry) -> Entry:
    """Return an entry of which somebody said that it was heard right."""
    sources = {
        field: tuple(replace(span, likelihood=None, otherwise=None) for span in origin)
        if isinstance(origin, tuple)
        else origin
        for field, origin in entry.sources.items()
    }
    return replace(entry, sources=MappingProxyType(sources))
