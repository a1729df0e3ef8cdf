"""How volumes are named: by number, by the donor's name, or by both."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.numbers.cardinals import read_whole_number
from voicelog.extraction.numbers.ordinals import read_ordinal
from voicelog.extraction.tokens import Token

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


def find_known_name(
    tokens: Sequence[Token], index: int, known_names: Sequence[tuple[str, ...]]
) -> Iterator[Mark]:
    """Read a name that a volume of this accession already has."""
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


def find_likely_name(tokens: Sequence[Token], index: int) -> Iterator[Mark]:
    """Read "the green book" where no volume has been named yet."""
    named = _read_name(tokens, index, needs_article=True)
    if named is None or named[1] - index < 3 or tokens[named[1] - 1].norm not in _BOOK_WORDS:
        return
    ordinal = read_ordinal(tokens, index + 1)
    if ordinal is not None and tokens[ordinal.end].norm == "one":
        return  # "the first one" is an item.
    yield Mark(
        kind=MarkKind.VOLUME,
        first=index,
        end=named[1],
        value=VolumeReading(name=named[0], is_guess=True),
        weight=0.85,
    )


def find_volume(tokens: Sequence[Token], cue: CueSpan) -> Iterator[Mark]:
    """Read "volume two, the picnic album", "next volume", "they call it the green book"."""
    is_next = cue.name == "next_volume"
    index = cue.end
    number: str | None = None
    if cue.name == "volume":
        index = skip_words(tokens, index, {"number", "no", ".", "is", "#", "um", "uh"})
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
    start = skip_words(tokens, index, _BEFORE_NAME)
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
    index = skip_words(tokens, start, {",", ":", '"', "'", "“", "‘"})
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


def skip_words(tokens: Sequence[Token], index: int, words: set[str]) -> int:
    """Return the index of the first token from ``index`` on that is none of these words."""
    while index < len(tokens) and tokens[index].norm in words:
        index += 1
    return index
