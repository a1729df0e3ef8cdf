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
_BOOK_WORDS = frozenset(
    {
        "book", "album", "scrapbook", "ledger", "journal", "diary", "binder", "register",
        "folder", "portfolio", "volume", "minutes", "notebook", "albums", "books", "daybook",
        "cuttings", "logbook", "yearbook", "guestbook", "one", "folio", "compilation",
    }
)  # fmt: skip
_BEFORE_NAME = {
    ",", ":", "-", "is", "um", "uh", "er", "erm", "like", "it", "'s", "that", "so", "well", "okay",
    "which", "known", "as", "called", "named", "i", "think", "and",
}  # fmt: skip
_HESITATIONS = frozenset({"um", "uh", "er", "erm", "like", "ah"})
_CALLING = frozenset({"calls", "call", "called", "known", "named", "is", "was", "has"})
_NO_NAME = frozenset(
    {"a", "an", "has", "goes", "have", "with", "in", "leaf", "page", "front", "back", "inside"}
)
_ROMAN = {
    "i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8, "ix": 9, "x": 10,
}  # fmt: skip
_COUNT_WORDS = {("couple", "of"): 2, ("pair", "of"): 2, ("dozen",): 12}


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeReading:
    """A volume as named: number, donor's name, or both.

    ``is_guess`` says that only the form of the words ("the green book") speaks for a name.
    """

    number: str | None = None
    name: str | None = None
    is_next: bool = False
    names_current: bool = False
    is_guess: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CueSpan:
    """A cue found in a note: which one, and its first token and end."""

    name: str
    first: int
    end: int


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
            token.norm[0].isdigit() or token.norm in _AMOUNT_WORDS for token in tokens
        )
        for index, token in enumerate(tokens):
            if not token.is_word and token.norm not in {"'", "½", "¼"} and "/" not in token.norm:
                continue
            if has_amounts:
                starts_amount = token.norm[0].isdigit() or token.norm in _AMOUNT_WORDS
                if starts_amount or token.norm in _AMOUNT_STARTS:
                    yield from self._find_numbers(tokens, index)
                    yield from self._find_size(tokens, index)
                if starts_amount or token.norm in _DATE_STARTS:
                    yield from self._find_date(tokens, index)
            yield from self._find_place(tokens, index, item_starts)
            yield from self._find_bare_accession(tokens, index)
            yield from _find_known_name(tokens, index, known_names)
            if token.norm == "the":
                yield from _find_likely_name(tokens, index)
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
            yield from _find_volume(tokens, cue)
        elif cue.name == "images":
            yield from _find_images(tokens, cue, item_starts)
        elif cue.name == "marked":
            index = _skip(tokens, cue.end, {"as", "page", "leaf", "number"})
            number = read_whole_number(tokens, index) if index < len(tokens) else None
            if number is not None:
                yield Mark(kind=MarkKind.ASIDE, first=cue.first, end=number.end, weight=1.2)

    def _find_accession(self, tokens: Sequence[Token], cue: CueSpan) -> Iterator[Mark]:
        index = _skip(
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
            digits = "".join(char for char in head if char.isdigit())
            return (
                len(digits) == 4
                and 1800 <= int(digits) <= 2199
                and sign != "/"
                and len(rest) == 3
                and rest.isdigit()
            )
    return False


def _find_known_name(
    tokens: Sequence[Token], index: int, known_names: Sequence[tuple[str, ...]]
) -> Iterator[Mark]:
    for name in known_names:
        end = _end_of_same_letters(tokens, index, "".join(name))
        if end is not None:
            first = index - 1 if index and tokens[index - 1].norm == "the" else index
            said = " ".join(name)
            yield Mark(
                kind=MarkKind.VOLUME,
                first=first,
                end=end,
                value=VolumeReading(name=said),
                weight=1.15,
            )


def _end_of_same_letters(tokens: Sequence[Token], index: int, letters: str) -> int | None:
    """Return where these letters end; "lakehouse" and "lake house" are the same."""
    said = ""
    while index < len(tokens) and len(said) < len(letters):
        said += tokens[index].norm
        index += 1
    return index if letters and said == letters else None


def _find_likely_name(tokens: Sequence[Token], index: int) -> Iterator[Mark]:
    """Read "the green book" where no volume has been named yet."""
    named = _read_name(tokens, index, needs_article=True)
    if named is None or named[1] - index < 3 or tokens[named[1] - 1].norm not in _BOOK_WORDS:
        return
    yield Mark(
        kind=MarkKind.VOLUME,
        first=index,
        end=named[1],
        value=VolumeReading(name=named[0], is_guess=True),
        weight=0.85,
    )


def _find_volume(tokens: Sequence[Token], cue: CueSpan) -> Iterator[Mark]:
    is_next = cue.name == "next_volume"
    index = cue.end
    number: str | None = None
    if cue.name == "volume":
        index = _skip(tokens, index, {"number", "no", ".", "is", "#", "um", "uh"})
        found = (
            read_whole_number(tokens, index)
            if index < len(tokens) and tokens[index].norm != "a"
            else None
        )
        if found is not None:
            number, index = str(found.value), found.end
        elif index < len(tokens) and tokens[index].norm in _ROMAN and tokens[index].text.isupper():
            number, index = str(_ROMAN[tokens[index].norm]), index + 1
    end = index
    name: str | None = None
    start = _skip(tokens, index, _BEFORE_NAME)
    named = _read_name(tokens, start, needs_article=cue.name != "name")
    if named is not None:
        name, end = named
    if number is None and name is None and not is_next:
        return
    first = _name_clause_start(tokens, cue.first) if cue.name == "name" else cue.first
    yield Mark(
        kind=MarkKind.VOLUME,
        first=first,
        end=end,
        value=VolumeReading(
            number=number,
            name=name,
            is_next=is_next and name is None,
            names_current=cue.name == "name",
        ),
        weight=1.2,
    )
    if name is not None and number is not None:
        yield Mark(
            kind=MarkKind.VOLUME,
            first=cue.first,
            end=index,
            value=VolumeReading(number=number),
            weight=1.1,
        )


def _name_clause_start(tokens: Sequence[Token], first: int) -> int:
    """Return where "which the family calls ..." or "the donor calls ..." begins."""
    index = first
    while index and first - index < 5 and tokens[index - 1].is_word:
        index -= 1
        if tokens[index].norm in {"which", "that", "what"}:
            return index
        if tokens[index].norm == "the":
            before = tokens[index - 1].norm if index else ""
            return index - 1 if before in {"which", "that", "what"} else index
    return first


def _read_name(
    tokens: Sequence[Token], start: int, *, needs_article: bool
) -> tuple[str, int] | None:
    """Read a donor's name: "the green book", "Picnics and Fairs"."""
    index = _skip(tokens, start, {",", ":", '"', "'", "“", "‘"})
    if index >= len(tokens):
        return None
    if needs_article and tokens[index].norm not in {"the", "our", "my"}:
        return _read_plain_name(tokens, index)
    words: list[str] = []
    end = index
    for at in range(index, min(index + 14, len(tokens))):
        token = tokens[at]
        if token.norm in _HESITATIONS or (token.norm == "," and _hesitates(tokens, at)):
            continue
        if token.norm in _CALLING or not token.is_word or len(words) == 8:
            break
        if token.norm == "the" and [word.lower() for word in words] == ["the"]:
            continue
        if token.norm == "'s" and words:
            words[-1] += token.text
        else:
            words.append(token.text)
        end = at + 1
        follows = tokens[at + 1].norm if at + 1 < len(tokens) else ""
        if token.norm in _BOOK_WORDS and len(words) > 1 and follows not in _BOOK_WORDS:
            break
    has_article = words[:1] and words[0].lower() in {"the", "our", "my"}
    if len(words) < 1 + bool(has_article) or tokens[end - 1].norm in _CALLING:
        return None
    if end < len(tokens) and tokens[end].norm in _CALLING:
        return None
    if len(words) == 2 and words[-1].lower() == "volume":
        return None
    return " ".join(words), end


def _hesitates(tokens: Sequence[Token], at: int) -> bool:
    """Whether a comma only sets off an "um"."""
    near = tokens[max(0, at - 1) : at + 2]
    return any(token.norm in _HESITATIONS for token in near)


def _read_plain_name(tokens: Sequence[Token], start: int) -> tuple[str, int] | None:
    """Read a name without its article: "volume two, picnic album"."""
    for end in range(start + 2, min(start + 5, len(tokens) + 1)):
        words = tokens[start:end]
        if not all(token.is_word for token in words) or words[0].norm in _NO_NAME:
            return None
        if words[-1].norm in _BOOK_WORDS - {"one", "volume", "folder"}:
            return " ".join(token.text for token in words), end
    return None


def _find_images(
    tokens: Sequence[Token], cue: CueSpan, item_starts: frozenset[int]
) -> Iterator[Mark]:
    index = _skip(tokens, cue.end, {"number", "numbers", "no", ".", ",", "is", "are", "#", ":"})
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
    index = _skip(tokens, term.end, {"number", "no", ".", "#"})
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


def _skip(tokens: Sequence[Token], index: int, words: set[str]) -> int:
    while index < len(tokens) and tokens[index].norm in words:
        index += 1
    return index
