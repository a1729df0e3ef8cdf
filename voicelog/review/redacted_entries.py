"""Entries without redacted words: what is covered, what is emptied, what stays."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from voicelog.domain.entry import Doubt, Entry, Kind, Review
from voicelog.domain.note import Span
from voicelog.domain.redaction import RedactedStretch

_TEXTS = ("caption", "remark", "volume_name")
_STRUCTURE = frozenset(
    {"accession", "volume", "volume_name", "leaf", "side", "item_type", "quantity", "blank", "mark"}
)
_EMPTY: Mapping[str, Any] = MappingProxyType(
    dict.fromkeys(("attachment", "condition", "action", "images", "relations"), ())
)


def rests_on(entry: Entry, notes: Mapping[int, str]) -> bool:
    """Whether an entry, or a value of it, rests on one of these notes."""
    spans = (
        span for origin in entry.sources.values() if isinstance(origin, tuple) for span in origin
    )
    return not notes.keys().isdisjoint(entry.notes) or any(span.note in notes for span in spans)


def is_typed(entry: Entry, masker: Callable[[str], str]) -> bool:
    """Whether a person typed the words into an entry, whatever its notes are."""
    typed = (
        text
        for name, origin in entry.sources.items()
        if isinstance(origin, Review)
        for text in (getattr(entry, name), origin.was)
    )
    return any(isinstance(text, str) and masker(text) != text for text in typed)


def find_cleared(
    entry: Entry, stretches: Mapping[int, tuple[RedactedStretch, ...]]
) -> Iterable[str]:
    """Yield the fields whose values were read from redacted words and from nothing else."""
    for name, origin in entry.sources.items():
        if name in _STRUCTURE or name in _TEXTS or not isinstance(origin, tuple) or not origin:
            continue
        if all(_is_covered(span, stretches) for span in origin):
            yield name


def _is_covered(span: Span, stretches: Mapping[int, tuple[RedactedStretch, ...]]) -> bool:
    return any(
        one.first < span.last and one.last > span.first for one in stretches.get(span.note, ())
    )


def redact_entry(
    entry: Entry, cleared: frozenset[str], masker: Callable[[str], str], notes: Mapping[int, str]
) -> Entry:
    """Return an entry without redacted words.

    Args:
        entry: the entry.
        cleared: the fields whose values go altogether.
        masker: covers the words in a text.
        notes: the redacted notes' numbers, and their texts as they are now; spans are cut from
            them anew.
    """
    values: dict[str, Any] = {name: _EMPTY.get(name) for name in cleared}
    for name in _TEXTS:
        text = getattr(entry, name)
        if text is not None:
            values[name] = masker(text)
    if entry.kind is Kind.VOLUME and entry.volume is not None:
        values["volume"] = masker(entry.volume)
    sources = {
        name: tuple(_recut(span, masker, notes) for span in origin)
        if isinstance(origin, tuple)
        else origin
        if isinstance(origin, str)
        else replace(origin, was=_mask_plain(origin.was, masker))
        for name, origin in entry.sources.items()
        if name not in cleared
    }
    doubts = tuple(
        Doubt(message=masker(doubt.message), field=doubt.field) for doubt in entry.doubts
    )
    return replace(entry, **values, doubts=doubts, sources=MappingProxyType(sources))


def _recut(span: Span, masker: Callable[[str], str], notes: Mapping[int, str]) -> Span:
    if span.note in notes:
        text = notes[span.note][span.first : span.last]
        # What else was heard there may be another spelling of the redacted words.
        return replace(span, text=text, likelihood=None, otherwise=None)
    otherwise = None if span.otherwise is None else masker(span.otherwise)
    return replace(span, text=masker(span.text), otherwise=otherwise)


def _mask_plain(value: Any, masker: Callable[[str], str]) -> Any:
    match value:
        case str():
            return masker(value)
        case list():
            return [_mask_plain(part, masker) for part in value]
        case _:
            return value
