"""What a mark is, as the passes over a note ask it."""

from __future__ import annotations

from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.pipeline.language_pipeline import FoundTerm
from voicelog.vocabulary import TermField

SILENT = frozenset({"fillers", "continues"})
"""Cues that say nothing by themselves."""


def is_cue(mark: Mark, *names: str) -> bool:
    """Whether the mark is one of these cues."""
    return mark.kind is MarkKind.CUE and mark.value in names


def has_field(mark: Mark, field: TermField) -> bool:
    """Whether the mark is a term that can fill this field."""
    return mark.kind is MarkKind.TERM and any(
        concept.field is field for concept in mark.value.concepts
    )


def kind_of(mark: Mark) -> tuple[str, ...] | None:
    """Return what a mark is, finely enough to say whether another is of the same kind."""
    match mark.kind:
        case MarkKind.TERM:
            found: FoundTerm = mark.value
            return ("term", *sorted(str(concept.field) for concept in found.concepts)[:1])
        case MarkKind.PLACE:
            return ("side",) if mark.value.side_only else ("place",)
        case MarkKind.CUE:
            return ("blank",) if mark.value == "blank" else None
        case MarkKind.ASIDE | MarkKind.STRUCK:
            return None
        case _:
            return (str(mark.kind),)
