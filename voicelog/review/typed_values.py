"""What a reviewer types into a field, read by the grammars and terms that read the notes.

Whatever the reader would understand can be typed ("June 4 1952", "four and a quarter by six
inches", "envelope seven"), and so can the stored form ("1952-06-04", "108 x 152.4 mm").
"""

from __future__ import annotations

import difflib
import unicodedata
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from voicelog.domain.entry import Access, Adhesion, Entry, Kind, Side
from voicelog.domain.note import Note
from voicelog.domain.place import Place, parse_leaf
from voicelog.domain.statement import SetValue
from voicelog.errors import ParseError, ValueRefused
from voicelog.extraction.accessions import AccessionCheck
from voicelog.extraction.dates.grammar import read_date
from voicelog.extraction.measures.sizes import read_size
from voicelog.extraction.numbers.cardinals import read_whole_number
from voicelog.extraction.numbers.lists import read_number_list
from voicelog.extraction.numbers.references import read_reference
from voicelog.extraction.places.grammar import PlaceGrammar
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene
from voicelog.extraction.tokens import tokenize
from voicelog.vocabulary import TermField
from voicelog.vocabulary.concepts import heard_of

LONGEST_TEXT = 10_000
"""Characters; longer than any caption that somebody reads aloud."""
OVERLAPPING = "overlapping"
"""A position that is no place on the page; see the list of positions in the vocabulary."""
_SUGGESTIONS = 5
_YES = frozenset({"yes", "true", "blank", "1"})
_NO = frozenset({"no", "false", "not blank", "0"})

TERM_LISTS = {
    "item_type": TermField.ITEM_TYPE,
    "attachment": TermField.ATTACHMENT,
    "condition": TermField.CONDITION,
    "action": TermField.ACTION,
}
"""Fields that hold several terms, separated by ";" or "," when typed."""
SINGLE_TERMS = {
    "adhesion": TermField.ADHESION,
    "position": TermField.POSITION,
    "binding": TermField.BINDING,
    "support": TermField.SUPPORT,
    "overlay": TermField.OVERLAY,
}
"""Fields that hold one term."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedValue:
    """What was typed, understood.

    Attributes:
        value: the value as an entry holds it.
        doubts: what the reader would have doubted about it, for the person to see.
    """

    value: Any
    doubts: tuple[str, ...] = ()


class TypedValues:
    """Understands what is typed into the fields of an entry.

    Args:
        reader: the reader of the log's notes; its vocabulary and options hold here too.
    """

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._places = PlaceGrammar(first_page=reader.options.first_page)
        self._accessions = AccessionCheck(reader.options)
        self._parsers: dict[str, Callable[[str, str], TypedValue]] = {
            **dict.fromkeys(TERM_LISTS, self._parse_terms),
            **dict.fromkeys(SINGLE_TERMS, self._parse_term),
            **dict.fromkeys(("quantity", "leaves"), self._parse_count),
            **dict.fromkeys(("caption", "remark", "mark", "volume_name"), self._parse_text),
            "volume": self._parse_text,
            "accession": self._parse_accession,
            "enclosure": self._parse_enclosure,
            "date": self._parse_date,
            "dimensions": self._parse_dimensions,
            "images": self._parse_images,
            "blank": self._parse_blank,
            "access": self._parse_access,
        }

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields that can be typed into; places and relations have acts of their own."""
        return tuple(self._parsers)

    def parse(self, field: str, typed: str) -> TypedValue:
        """Return the value that a text stands for in a field.

        Nothing typed empties a field that may be empty.

        Raises:
            ValueRefused: it is no value of this field; the sentence says what would do.
        """
        if field not in self._parsers:
            raise ValueRefused(
                f"{field} is not typed in; it follows from other values.",
                field=field,
                typed=typed,
            )
        text = clean_text(field, typed)
        if not text and field not in {"quantity", "blank", "access"}:
            return TypedValue(value=() if field in {*TERM_LISTS, "images"} else None)
        return self._parsers[field](field, text)

    def parse_place(self, typed: str, *, of: Entry | None = None) -> Place:
        """Return the place that a text names: "15 verso", "14r", "page 27", "front cover".

        A leaf without a side is its recto.

        Args:
            typed: the text.
            of: the entry that is there now; where it is about both sides of a leaf, a leaf
                without a side is both of them.

        Raises:
            ValueRefused: it names no place.
        """
        text = clean_text("leaf", typed)
        tokens = tokenize(text)
        found = self._places.read(tokens, 0) if tokens else None
        if found is not None and found.place is not None and found.end == len(tokens):
            place = found.place
        else:
            place = self._parse_bare_leaf(typed, text)
        return place if of is not None and _is_of_both_sides(of) else _with_side(place)

    def _parse_bare_leaf(self, typed: str, text: str) -> Place:
        try:
            return Place(leaf=parse_leaf(text))
        except ParseError:
            _refuse("leaf", typed, "a place, such as 14 recto, 7A verso, page 27 or front cover")

    def suggest(self, field: str, typed: str) -> tuple[str, ...]:
        """Return the terms of a field that begin like, or look like, what was typed."""
        term_field = TERM_LISTS.get(field) or SINGLE_TERMS.get(field)
        if term_field is None:
            return ()
        wanted = heard_of(typed)
        forms = {
            wording: concept.term
            for concept in self._reader.vocabulary.of_field(term_field)
            for wording in sorted(concept.wordings())
        }
        beginning = [term for wording, term in forms.items() if wording.startswith(wanted)]
        alike = [forms[one] for one in difflib.get_close_matches(wanted, forms, n=_SUGGESTIONS * 2)]
        return tuple(dict.fromkeys((*beginning, *alike)))[:_SUGGESTIONS]

    # Terms -------------------------------------------------------------------------------

    def _parse_terms(self, field: str, text: str) -> TypedValue:
        terms = [self._find_term(field, part) for part in self._split_terms(field, text)]
        return TypedValue(value=tuple(dict.fromkeys(terms)))

    def _parse_term(self, field: str, text: str) -> TypedValue:
        if field == "position" and heard_of(text) == OVERLAPPING:
            return TypedValue(value=OVERLAPPING)
        term = self._find_term(field, text)
        return TypedValue(value=Adhesion(term) if field == "adhesion" else term)

    def _split_terms(self, field: str, text: str) -> Iterator[str]:
        """Cut a list into its terms; some terms have a comma of their own."""
        for part in text.split(";"):
            pieces = [piece.strip() for piece in part.split(",")]
            at = 0
            while at < len(pieces):
                longest = next(
                    (
                        end
                        for end in range(len(pieces), at + 1, -1)
                        if self._match(field, " ".join(pieces[at:end])) is not None
                    ),
                    at + 1,
                )
                if any(pieces[at:longest]):
                    yield ", ".join(pieces[at:longest])
                at = longest

    def _find_term(self, field: str, text: str) -> str:
        term = self._match(field, text)
        if term is not None:
            return term
        near = self.suggest(field, text)
        hint = f"did you mean {_name(near)}?" if near else "'voicelog vocabulary' lists its terms."
        raise ValueRefused(
            f"{text!r} is no term for {_words(field)}; {hint}",
            field=field,
            typed=text,
            suggestions=near,
        )

    def _match(self, field: str, text: str) -> str | None:
        wanted = heard_of(text)
        term_field = TERM_LISTS.get(field) or SINGLE_TERMS[field]
        return next(
            (
                concept.term
                for concept in self._reader.vocabulary.of_field(term_field)
                if wanted in concept.wordings()
            ),
            None,
        )

    # Numbers, dates, sizes -----------------------------------------------------------------

    def _parse_count(self, field: str, text: str) -> TypedValue:
        tokens = tokenize(text)
        number = read_whole_number(tokens, 0) if tokens else None
        if number is None or number.end != len(tokens) or not 0 < number.value < 10_000:
            _refuse(field, text, "a whole number from 1")
        return TypedValue(value=number.value)

    def _parse_images(self, field: str, text: str) -> TypedValue:
        tokens = tokenize(text.replace(";", ","))
        numbers = read_number_list(tokens, 0)
        if numbers is None or numbers.end != len(tokens):
            _refuse(field, text, "image numbers, such as 27, 28 or 27 to 30")
        return TypedValue(value=tuple(numbers.numbers))

    def _parse_date(self, field: str, text: str) -> TypedValue:
        tokens = tokenize(text)
        date = read_date(tokens, 0, self._reader.options)
        if date is not None and date.end == len(tokens) and not date.aside:
            if date.edtf is None:
                _refuse(field, text, "a day that the calendar has", because=date.doubts)
            return TypedValue(value=date.edtf, doubts=date.doubts)
        if not _is_edtf(text):
            _refuse(field, text, "a date, such as June 4 1952, about 1960, the fifties, or in EDTF")
        return TypedValue(value=text)

    def _parse_dimensions(self, field: str, text: str) -> TypedValue:
        tokens = tokenize(text)
        size = read_size(tokens, 0, self._reader.options) if tokens else None
        if size is None or size.end != len(tokens) or size.thickness is not None:
            _refuse(field, text, "height by width, such as 4 1/4 x 6 inches or 108 x 152.4 mm")
        return TypedValue(value=(size.height_mm, size.width_mm), doubts=size.doubts)

    def _parse_accession(self, field: str, text: str) -> TypedValue:
        tokens = tokenize(text)
        reference = read_reference(tokens, 0)
        is_whole = reference is not None and reference.end == len(tokens)
        # A number typed as the register writes it is kept, signs that nobody says included.
        said = reference.text if reference is not None and is_whole else text
        checked = self._accessions.check(text if _is_written(text) else said)
        if checked.doubts:
            _refuse(field, text, "an accession number as in the settings", because=checked.doubts)
        if not any(character.isalnum() for character in checked.text):
            _refuse(field, text, "an accession number, such as 2031-007")
        return TypedValue(value=checked.text)

    def _parse_enclosure(self, field: str, text: str) -> TypedValue:
        note = Note(number=0, uid="", text=text)
        reading = self._reader.read(note, Surroundings(scene=Scene(has_leaf=True)))
        only = reading.statements[0] if len(reading.statements) == 1 else None
        if not isinstance(only, SetValue) or only.field != field:
            _refuse(field, text, "an enclosure and its number, such as envelope 7 or box 1")
        return TypedValue(value=only.value)

    # Words ---------------------------------------------------------------------------------

    def _parse_text(self, field: str, text: str) -> TypedValue:
        del field
        return TypedValue(value=text)

    def _parse_blank(self, field: str, text: str) -> TypedValue:
        if text.lower() not in _YES | _NO:
            _refuse(field, text, "yes or no")
        return TypedValue(value=text.lower() in _YES)

    def _parse_access(self, field: str, text: str) -> TypedValue:
        if text.lower() not in set(Access):
            _refuse(field, text, "open or restricted")
        return TypedValue(value=Access(text.lower()))


def clean_text(field: str, typed: str) -> str:
    """Return a typed text without surrounding spaces, its line ends made spaces.

    Raises:
        ValueRefused: it is too long, or holds control characters.
    """
    text = " ".join(typed.split("\n")).replace("\r", "").replace("\t", " ").strip()
    if len(text) > LONGEST_TEXT:
        raise ValueRefused(
            f"The text for {_words(field)} has {len(text)} characters; "
            f"{LONGEST_TEXT} are the most.",
            field=field,
            typed=text[:100],
        )
    # Control characters can't leave in most export formats, and half characters in none.
    if any(unicodedata.category(character) in {"Cc", "Cs"} for character in text):
        raise ValueRefused(
            f"The text for {_words(field)} holds control characters; type it without them.",
            field=field,
            typed=text,
        )
    return text


def _is_edtf(text: str) -> bool:
    with warnings.catch_warnings():
        # Written for an older pyparsing, it warns on import and use; only that is hidden.
        warnings.simplefilter("ignore", DeprecationWarning)
        # Loaded late: few dates are typed as EDTF, and its grammar takes a while to build.
        from edtf_validate.valid_edtf import is_valid  # noqa: PLC0415

        return bool(is_valid(text))


def _is_of_both_sides(entry: Entry) -> bool:
    return entry.kind is Kind.LEAF and entry.side is None and entry.leaf is not None


def _with_side(place: Place) -> Place:
    if place.has_sides and place.side is None:
        return Place(leaf=place.leaf, side=Side.RECTO)
    return place


def _is_written(text: str) -> bool:
    """Whether a number is typed in figures and signs, as it is written."""
    return any(character.isdecimal() for character in text) and " " not in text


def _refuse(field: str, typed: str, wanted: str, *, because: Sequence[str] = ()) -> NoReturn:
    reason = f" ({'; '.join(because)})" if because else ""
    raise ValueRefused(
        f"{typed!r} is no value for {_words(field)}{reason}; type {wanted}.",
        field=field,
        typed=typed,
    )


def _words(field: str) -> str:
    return field.replace("_", " ")


def _name(terms: Sequence[str]) -> str:
    return " or ".join((", ".join(terms[:-1]), terms[-1])) if len(terms) > 1 else terms[0]
