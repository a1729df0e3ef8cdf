"""Grammars applied to a whole note: every value that can be read, as candidate marks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voicelog.extraction.accessions import AccessionCheck
from voicelog.extraction.dates.calendar_words import (
    AFTER,
    APPROXIMATE,
    BEFORE,
    DECADES,
    MONTHS,
    PARTS_OF_PERIOD,
    SEASONS,
    UNCERTAIN,
    UNTIL,
)
from voicelog.extraction.dates.grammar import read_date
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.measures.sizes import read_single_dimension, read_size
from voicelog.extraction.numbers.cardinals import read_atom, read_whole_number
from voicelog.extraction.numbers.lists import read_number_list
from voicelog.extraction.numbers.ordinals import read_ordinal
from voicelog.extraction.numbers.references import Reference, read_reference
from voicelog.extraction.numbers.words import (
    DENOMINATORS,
    ORDINAL_TEENS,
    ORDINAL_TENS,
    ORDINAL_UNITS,
    SCALES,
    TEENS,
    TENS,
    UNITS,
)
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.pipeline.volume_names import (
    CueSpan,
    find_known_name,
    find_likely_name,
    find_volume,
    skip_words,
)
from voicelog.extraction.places.grammar import PlaceGrammar
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import Concept, TermField

# Every number, date and size holds one of these, or a digit.
_AMOUNT_WORDS = frozenset(
    {
        *UNITS, *TEENS, *TENS, *SCALES, *ORDINAL_UNITS, *ORDINAL_TEENS, *ORDINAL_TENS,
        *DENOMINATORS, *MONTHS, *SEASONS, *DECADES, "couple", "pair", "dozen", "century",
    }
)  # fmt: skip
_AMOUNT_STARTS = frozenset(
    {"a", "an", "double", "triple", "treble", "height", "width", "thickness", "depth", ".", "'"}
)
_DATE_STARTS = frozenset(
    {
        *APPROXIMATE, *UNCERTAIN, *PARTS_OF_PERIOD,
        *(words[0] for words in (*BEFORE, *AFTER, *UNTIL)),
        "between", "from", "one", "all", "c", "ca", "'", "some", "sometime", "unknown",
    }
)  # fmt: skip
_BEFORE_IMAGES = {"number", "numbers", "no", ".", ",", "is", "are", "#", ":"}
_COUNT_WORDS = {("couple", "of"): 2, ("pair", "of"): 2, ("dozen",): 12}


@dataclass(frozen=True, slots=True, kw_only=True)
class TermSpan:
    """A vocabulary term found in a note."""

    concept: Concept
    first: int
    end: int


class ValueGrammars:
    """Reads every number, date, size, place and enclosure that a note may hold."""

    def __init__(self, options: ReadingOptions) -> None:
        self._options = options
        self._places = PlaceGrammar(first_page=options.first_page)
        self._accessions = AccessionCheck(options)

    def find_marks(
        self,
        tokens: Sequence[Token],
        terms: Sequence[TermSpan],
        cues: Sequence[CueSpan],
        known_names: Sequence[tuple[str, ...]] = (),
    ) -> Iterator[Mark]:
        """Yield candidate marks; they may overlap.

        Args:
            tokens: the note's tokens.
            terms: the vocabulary terms found in it.
            cues: the cues found in it.
            known_names: volume names already used in this accession, as token norms.
        """
        item_starts = frozenset(
            term.first for term in terms if term.concept.field is TermField.ITEM_TYPE
        )
        has_amounts = any(
            token.norm[0].isdecimal() or token.norm in _AMOUNT_WORDS for token in tokens
        )
        for index, token in enumerate(tokens):
            if not token.is_word and token.norm not in {"'", "½", "¼"} and "/" not in token.norm:
                continue
            if has_amounts:
                starts_amount = token.norm[0].isdecimal() or token.norm in _AMOUNT_WORDS
                if starts_amount or token.norm in _AMOUNT_STARTS:
                    yield from self._find_numbers(tokens, index)
                    yield from self._find_size(tokens, index)
                if starts_amount or token.norm in _DATE_STARTS:
                    yield from self._find_date(tokens, index)
            yield from self._find_place(tokens, index, item_starts)
            yield from self._find_bare_accession(tokens, index)
            yield from find_known_name(tokens, index, known_names)
            if token.norm == "the":
                yield from find_likely_name(tokens, index)
        for cue in cues:
            yield from self._after_cue(tokens, cue, item_starts)
        for term in terms:
            if term.concept.field is TermField.ENCLOSURE:
                yield from _find_enclosure(tokens, term)

    def _find_numbers(self, tokens: Sequence[Token], index: int) -> Iterator[Mark]:
        ordinal = read_ordinal(tokens, index)
        if ordinal is not None:
            yield Mark(
                kind=MarkKind.ORDINAL, first=index, end=ordinal.end, value=ordinal.value, weight=0.6
            )
        for words, count in _COUNT_WORDS.items():
            end = index + len(words)
            if tuple(token.norm for token in tokens[index:end]) == words:
                value = 6 if count == 12 and index > 1 and _is_half_a(tokens, index) else count
                first = index - 2 if value == 6 else index
                yield Mark(kind=MarkKind.NUMBER, first=first, end=end, value=value, weight=0.8)
        if tokens[index].norm == "a":
            return
        number = read_whole_number(tokens, index)
        # "oh" alone is a sigh, not a zero.
        if number is not None and not (tokens[index].norm == "oh" and len(number.digits) == 1):
            after = number.end
            if after < len(tokens) and tokens[after].norm in {"leaves", "leafs", "pages", "leaf"}:
                is_count = tokens[after].norm != "leaf" and number.value > 0
                if is_count:
                    count = number.value
                    if tokens[after].norm == "pages":
                        count = (count + 1) // 2
                    yield Mark(
                        kind=MarkKind.LEAVES,
                        first=index,
                        end=after + 1,
                        value=count,
                        weight=1.1,
                    )
            yield Mark(kind=MarkKind.NUMBER, first=index, end=after, value=number.value, weight=0.7)
            atom = read_atom(tokens, index)
            if atom and atom.end < after:
                yield Mark(
                    kind=MarkKind.NUMBER, first=index, end=atom.end, value=atom.value, weight=0.65
                )

    def _find_date(self, tokens: Sequence[Token], index: int) -> Iterator[Mark]:
        date = read_date(tokens, index, self._options)
        if date is not None:
            yield Mark(
                kind=MarkKind.DATE,
                first=index,
                end=date.end,
                value=date,
                weight=0.85 if date.bare_year else 1.1,
                doubts=date.doubts,
            )

    def _find_size(self, tokens: Sequence[Token], index: int) -> Iterator[Mark]:
        size = read_size(tokens, index, self._options)
        if size is not None:
            yield Mark(
                kind=MarkKind.SIZE,
                first=index,
                end=size.end,
                value=size,
                weight=1.05,
                doubts=size.doubts,
            )
            return
        end = read_single_dimension(tokens, index)
        if end is not None:
            yield Mark(kind=MarkKind.ASIDE, first=index, end=end, weight=0.9)

    def _find_place(
        self, tokens: Sequence[Token], index: int, item_starts: frozenset[int]
    ) -> Iterator[Mark]:
        place = self._places.read(tokens, index, item_starts)
        if place is None:
            return
        if place.step is not None:
            kind = MarkKind.STEP
        elif place.places:
            kind = MarkKind.RANGE
        else:
            kind = MarkKind.PLACE
        yield Mark(
            kind=kind, first=index, end=place.end, value=place, weight=1.1, doubts=place.doubts
        )

    def _after_cue(
        self, tokens: Sequence[Token], cue: CueSpan, item_starts: frozenset[int]
    ) -> Iterator[Mark]:
        if cue.name == "accession":
            yield from self._find_accession(tokens, cue)
        elif cue.name in {"volume", "next_volume", "name"}:
            yield from find_volume(tokens, cue)
        elif cue.name == "images":
            yield from _find_images(tokens, cue, item_starts)
        elif cue.name == "marked":
            index = skip_words(tokens, cue.end, {"as", "page", "leaf", "number"})
            number = read_whole_number(tokens, index) if index < len(tokens) else None
            if number is not None:
                yield Mark(kind=MarkKind.ASIDE, first=cue.first, end=number.end, weight=1.2)

    def _find_accession(self, tokens: Sequence[Token], cue: CueSpan) -> Iterator[Mark]:
        index = skip_words(
            tokens, cue.end, {"number", "is", "no", ".", ",", ":", "um", "uh", "the", "#"}
        )
        if index >= len(tokens):
            return
        reference = read_reference(tokens, index)
        if reference is not None:
            checked = self._accessions.check(reference.text)
            yield Mark(
                kind=MarkKind.ACCESSION,
                first=cue.first,
                end=reference.end,
                value=checked.text,
                weight=1.2,
                doubts=checked.doubts,
            )

    def _find_bare_accession(self, tokens: Sequence[Token], index: int) -> Iterator[Mark]:
        """Read an accession number said without the word: year, separator, number."""
        if index and tokens[index - 1].norm not in {",", ".", "number", "it's"}:
            return
        if tokens[index].norm == "a":
            return
        reference = read_reference(tokens, index)
        if reference is None or reference.parts < 2:
            return
        if _looks_like_accession(reference) or self._accessions.is_known(reference.text):
            checked = self._accessions.check(reference.text)
            yield Mark(
                kind=MarkKind.ACCESSION,
                first=index,
                end=reference.end,
                value=checked.text,
                weight=1.05,
                doubts=checked.doubts,
            )


def _looks_like_accession(reference: Reference) -> bool:
    text = reference.text
    for sign in "-./:":
        head, found, rest = text.partition(sign)
        if found:
            digits = "".join(char for char in head if char.isdecimal())
            return (
                len(digits) == 4
                and 1800 <= int(digits) <= 2199
                and sign != "/"
                and len(rest) == 3
                and rest.isdecimal()
            )
    return False


def _find_images(
    tokens: Sequence[Token], cue: CueSpan, item_starts: frozenset[int]
) -> Iterator[Mark]:
    index = skip_words(tokens, cue.end, _BEFORE_IMAGES)
    if index >= len(tokens):
        return
    numbers = read_number_list(
        tokens, index, may_follow=lambda end: not _counts_items(tokens, end, item_starts)
    )
    if numbers is None:
        return
    yield Mark(
        kind=MarkKind.IMAGES, first=cue.first, end=numbers.end, value=numbers.numbers, weight=1.15
    )


def _counts_items(tokens: Sequence[Token], end: int, item_starts: frozenset[int]) -> bool:
    """Whether the number that ends here counts items: "image 3, two torn postcards"."""
    near = range(end, min(end + 3, len(tokens)))
    for index in near:
        if index in item_starts:
            return True
        if not tokens[index].is_word or tokens[index].norm in {"a", "an", "the", "and"}:
            return False
    return False


def _find_enclosure(tokens: Sequence[Token], term: TermSpan) -> Iterator[Mark]:
    index = skip_words(tokens, term.end, {"number", "no", ".", "#"})
    if index >= len(tokens) or tokens[index].norm == "a":
        return
    number = read_whole_number(tokens, index)
    if number is None:
        return
    yield Mark(
        kind=MarkKind.ENCLOSURE,
        first=term.first,
        end=number.end,
        value=(f"{term.concept.term} {number.value}", term.concept.term),
        weight=1.15,
    )


def _is_half_a(tokens: Sequence[Token], index: int) -> bool:
    return tokens[index - 2].norm == "half" and tokens[index - 1].norm == "a"
