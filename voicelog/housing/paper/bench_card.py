"""The bench card: what can be said, on one page to be read at arm's length."""

from __future__ import annotations

import tomllib
from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Any

from voicelog.extraction.language.phrases import load_language
from voicelog.housing.paper.lines import Fitted
from voicelog.housing.paper.page import Column, Paper, Style
from voicelog.housing.paper.typeface import Typeface
from voicelog.vocabulary.concepts import Concept, TermField, Vocabulary
from voicelog.vocabulary.loading import load_closing

# Capitals of this typeface are 0.72 of its size high. 60 cm from the eye those of 11 points are
# seen under 16 minutes of arc, those of 14 points under 20: what ISO 9241-303 calls the least,
# and recommends (both from memory).
_SIZES_PT = (14.0, 13.5, 13.0, 12.5, 12.0, 11.5, 11.0)
_SMALL = 0.9  # what explains, and the terms: in sizes of the rest
_MARGIN_MM = 10.0
_GUTTER_MM = 5.0
_LABELS_MM = 20.0
_BETWEEN_MM = 1.2
_APART = "  ·  "
_CAUTION = (
    "Mould, a smell of vinegar, film, pins, an unknown powder: say so, and handle it no further."
)

# The fields with most to choose from; labels as on the review pages.
FIELD_LABELS = {
    TermField.ITEM_TYPE: "type",
    TermField.ATTACHMENT: "held by",
    TermField.ADHESION: "holds",
    TermField.CONDITION: "condition",
    TermField.ACTION: "done",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLine:
    """One line of the card.

    Attributes:
        said: what can be said, each wording a note of its own.
        means: what it does, where that doesn't go without saying.
    """

    said: tuple[str, ...] = ()
    means: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CardSection:
    """Lines that belong together.

    Attributes:
        title: what they are about.
        hint: what holds for all of them, or "".
        lines: the lines.
    """

    title: str
    hint: str
    lines: tuple[CardLine, ...]


def load_sections() -> tuple[CardSection, ...]:
    """Return what stands on the card beside the terms; commands as the reader knows them."""
    cues = load_language().cues
    return tuple(
        CardSection(
            title=section["title"],
            hint=section.get("hint", ""),
            lines=tuple(_read_line(line, cues) for line in section["line"]),
        )
        for section in _read_file()["section"]
    )


def wording_of(concept: Concept) -> str:
    """Return what the card says for a concept: its term, or what means it in a note."""
    if concept.field is not TermField.ACTION:
        return concept.term
    instead: str = _read_file()["actions"].get(concept.id, concept.term)
    return instead


def _read_file() -> dict[str, Any]:
    file = resources.files("voicelog.housing.paper") / "bench_card.toml"
    return tomllib.loads(file.read_text("utf-8"))


def _read_line(line: dict[str, Any], cues: dict[str, tuple[str, ...]]) -> CardLine:
    said = line.get("say") or [cues[cue][0] + line.get("then", "") for cue in line.get("cues", ())]
    return CardLine(said=tuple(said), means=line.get("means", ""))


def print_bench_card(
    vocabulary: Vocabulary,
    *,
    size_mm: tuple[float, float],
    spell: Callable[[str], str],
) -> bytes:
    """Return the card as a PDF of one page.

    The letters are as large as the page allows. Where not even the smallest leave room for
    every term, the longest lists end with how many more there are.

    Args:
        vocabulary: the terms.
        size_mm: width and height of the paper.
        spell: brings terms into the spelling that is wanted.
    """
    paper = Paper("What can be said", Typeface(), size_mm)
    terms = {
        field: [spell(wording_of(concept)) for concept in vocabulary.of_field(field)]
        for field in FIELD_LABELS
    }
    for size in _SIZES_PT:
        card = _set_card(paper, terms, size)
        if card.fits(paper):
            break
    else:
        card = _set_shortened(paper, terms)
    card.draw(paper)
    return paper.finish()


def _set_shortened(paper: Paper, terms: dict[TermField, list[str]]) -> _Card:
    """Return the card in the smallest letters, with as many terms a list as there is room for."""

    def set_with(most: int) -> _Card:
        cut = {field: _shorten(known, most) for field, known in terms.items()}
        return _set_card(paper, cut, _SIZES_PT[-1])

    most = max(map(len, terms.values()))
    too_many = bisect_left(range(1, most), x=True, key=lambda n: not set_with(n).fits(paper)) + 1
    return set_with(max(1, too_many - 1))


def _shorten(known: list[str], most: int) -> list[str]:
    left = len(known) - most
    return [*known[:most], f"and {left} more"] if left > 0 else known


@dataclass(frozen=True, slots=True, kw_only=True)
class _Text:
    """A text on its lines, and the room before it."""

    fitted: Fitted
    style: Style
    before_mm: float = 0.0

    @property
    def height_mm(self) -> float:
        return self.before_mm + len(self.fitted.lines) * self.style.line_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class _Card:
    """The parts of the card, set in one size."""

    head: tuple[_Text, ...]
    columns: tuple[tuple[_Text, ...], ...]
    labels: tuple[_Text, ...]
    terms: tuple[_Text, ...]
    foot: tuple[_Text, ...]

    def fits(self, paper: Paper) -> bool:
        stacked = (self.head, max(self.columns, key=_height), self.terms, self.foot)
        return sum(map(_height, stacked)) <= paper.height_mm - 2 * _MARGIN_MM

    def draw(self, paper: Paper) -> None:
        width = _column_width(paper)
        top = _draw(paper, self.head, (_MARGIN_MM, _MARGIN_MM), paper.width_mm - 2 * _MARGIN_MM)
        ends = [
            _draw(paper, column, (_MARGIN_MM + index * (width + _GUTTER_MM), top), width)
            for index, column in enumerate(self.columns)
        ]
        at = max(ends)
        for label, known in zip(self.labels, self.terms, strict=True):
            line_mm = at + known.before_mm / 2
            paper.rule((_MARGIN_MM, line_mm), (paper.width_mm - _MARGIN_MM, line_mm), grey=0.6)
            _draw(paper, (label,), (_MARGIN_MM, at), _LABELS_MM)
            at = _draw(paper, (known,), (_MARGIN_MM + _LABELS_MM, at), _terms_width(paper))
        _draw(paper, self.foot, (_MARGIN_MM, at), paper.width_mm - 2 * _MARGIN_MM)


def _set_card(paper: Paper, terms: dict[TermField, list[str]], size: float) -> _Card:
    sections = load_sections()
    width = _column_width(paper)
    whole = paper.width_mm - 2 * _MARGIN_MM
    title, small = Style(size=size * 1.6, bold=True), Style(size=size * _SMALL)
    label = Style(size=size * _SMALL, bold=True)
    said = "Speak as to a colleague, in pieces; a short pause ends a note."
    return _Card(
        head=(
            _set(paper, "What can be said", title, whole),
            _set(paper, said, small, whole),
        ),
        # The notes stand on the left; what the program does, and how it answers, on the right.
        columns=(
            tuple(_set_sections(paper, sections[:3], size, width)),
            tuple(_set_sections(paper, sections[3:], size, width)),
        ),
        labels=tuple(
            _set(paper, FIELD_LABELS[field], label, _LABELS_MM, before_mm=_BETWEEN_MM)
            for field in terms
        ),
        terms=tuple(
            _set(paper, "; ".join(known), small, _terms_width(paper), before_mm=_BETWEEN_MM)
            for known in terms.values()
        ),
        foot=(_set(paper, f"{_CAUTION} {load_closing()}", small, whole, before_mm=_BETWEEN_MM),),
    )


def _set_sections(
    paper: Paper, sections: Sequence[CardSection], size: float, width_mm: float
) -> Iterator[_Text]:
    head, words = Style(size=size * 1.1, bold=True), Style(size=size)
    small = Style(size=size * _SMALL, grey=0.25)
    for section in sections:
        yield _set(paper, section.title, head, width_mm, before_mm=size * 0.22)
        if section.hint:
            yield _set(paper, section.hint, small, width_mm)
        for line in section.lines:
            if line.said:
                yield _set(paper, _APART.join(line.said), words, width_mm, before_mm=0.4)
            if line.means:
                yield _set(paper, line.means, small if line.said else words, width_mm)


def _set(
    paper: Paper, text: str, style: Style, width_mm: float, *, before_mm: float = 0.0
) -> _Text:
    fitted = paper.fit(text, style, width_mm=width_mm, most_lines=200)
    return _Text(fitted=fitted, style=style, before_mm=before_mm)


def _draw(
    paper: Paper, texts: Sequence[_Text], corner_mm: tuple[float, float], width_mm: float
) -> float:
    at = corner_mm[1]
    for text in texts:
        column = Column(
            left_mm=corner_mm[0],
            top_mm=at + text.before_mm,
            width_mm=width_mm,
            bottom_mm=paper.height_mm,
        )
        at = paper.write(text.fitted, text.style, column)
    return at


def _height(texts: Sequence[_Text]) -> float:
    return sum(text.height_mm for text in texts)


def _terms_width(paper: Paper) -> float:
    return paper.width_mm - 2 * _MARGIN_MM - _LABELS_MM


def _column_width(paper: Paper) -> float:
    return (paper.width_mm - 2 * _MARGIN_MM - _GUTTER_MM) / 2
