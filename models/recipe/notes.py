"""Invented notes, as handlers of many habits would say them.

Terse, chatty, hesitating, British and American, by leaf and by page, with captions.
They teach the language model what notes sound like, and the voices what to say. They are
made from the vocabulary and the wordings the reader knows, never from the gold sessions,
which are kept for measuring.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from num2words import num2words  # type: ignore[import-untyped]

from models.recipe.lexicon import words_in
from voicelog.extraction.language.phrases import load_language
from voicelog.vocabulary import load_vocabulary
from voicelog.vocabulary.concepts import TermField

_MONTHS = """january february march april may june july august september october november
december""".split()
_NAMES = """alice ada albert agnes arthur beryl bill clara charles doris dora edith edward ellen elsie
emily ernest ethel eva fred florence frank george grace harold harry hazel helen henry ida irene
ivy jack james jane jean jim joan john joe june kate len lily louis lucy mabel margaret mary maud
may mildred minnie molly nell nora norman olive oscar percy peter phyllis ray rose ruth sam sidney
stan stella susan ted thomas tom vera violet walter wilfred will winifred""".split()
_SURNAMES = """baker barnes bell bishop brook carter chapman clarke cole cook cooper davis dean dixon
ellis fisher ford foster fox grant gray green hall harris hill holt hughes hunt king lamb lane lee
marsh mason mills moore morgan nash newton page parker perry porter price reed rice ross shaw
short stone swift turner wade walker ward webb wells west white wood young""".split()
_THINGS = """picnic outing dinner dance parade regatta concert fair race match supper play wedding
christening reunion excursion carnival meeting bazaar exhibition swim hike camp rally ball tea
lecture visit sale party sports day pageant""".split()
_PLACES = """pier hall station river bridge lake church school mill garden park hotel harbour beach
farm square green valley tower market town village club band stand boathouse quay""".split()
_VOLUME_COLOURS = (
    "green red blue black brown grey little big old second first picnic family club travel".split()
)
_VOLUME_NOUNS = "book album scrapbook ledger volume binder".split()
_LEADS = (
    "um",
    "uh",
    "okay",
    "so",
    "right",
    "now",
    "well",
    "let me see",
    "here we go",
    "and",
    "then",
    "er",
    "erm",
)
_COLOURS = "black grey beige blue green brown cream white red".split()


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How one handler speaks.

    Attributes:
        fills: how often a filler comes first, 0..1.
        pages: whether places are given by page instead of by leaf.
        verbs: how often whole phrases are used instead of bare terms, 0..1.
        joins: how many facts are put into one note, at most.
    """

    fills: float
    pages: bool
    verbs: float
    joins: int


class NoteWriter:
    """Writes one note after another, all of them with one generator of random numbers."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)
        language = load_language()
        self._cues = {
            **language.cues,
            **{name: tuple(sorted(words)) for name, words in language.words.items()},
        }
        self._terms: dict[TermField, list[str]] = {}
        for concept in load_vocabulary().concepts:
            # The preferred term is said more often than any of its variants.
            self._terms.setdefault(concept.field, []).extend([concept.term] * 3)
            self._terms[concept.field].extend(concept.variants)
        self._habits = self._new_habits()

    def iter_notes(self, count: int) -> Iterator[str]:
        """Yield notes in lower case, without punctuation; every dozen another handler."""
        for number in range(count):
            if number % 12 == 0:
                self._habits = self._new_habits()
            yield " ".join(words_in(self._note()))

    def _new_habits(self) -> Habits:
        draw = self._random
        return Habits(
            fills=draw.choice([0.0, 0.05, 0.3]),
            pages=draw.random() < 0.3,
            verbs=draw.random(),
            joins=draw.choice([1, 2, 4]),
        )

    def _note(self) -> str:
        kinds: Sequence[tuple[float, Callable[[], str]]] = (
            (0.14, self._place),
            (0.26, self._item),
            (0.17, self._details),
            (0.07, self._caption),
            (0.05, self._enclosed),
            (0.05, self._size),
            (0.04, self._dated),
            (0.04, self._images),
            (0.05, self._volume),
            (0.03, self._accession),
            (0.04, self._command),
            (0.03, self._correction),
            (0.03, self._relation),
            (0.14, self._sentence),
            (0.02, self._spelled),
        )
        weights, makers = zip(*kinds, strict=True)
        parts = [self._random.choices(makers, weights)[0]()]
        while len(parts) < self._habits.joins and self._random.random() < 0.35:
            parts.append(self._random.choices(makers, weights)[0]())
        note = " ".join(parts)
        if self._random.random() < self._habits.fills:
            note = f"{self._random.choice(_LEADS)} {note}"
        if self._random.random() < self._habits.fills / 3:
            note = f"{note} {self._cue('fillers')}"
        return note

    # Numbers ----------------------------------------------------------------------------

    def number(self, low: int = 1, high: int = 60) -> str:
        """Return a number as said."""
        return str(num2words(self._random.randint(low, high)))

    def year(self) -> str:
        """Return a year as said: "nineteen fifty two"."""
        year = self._random.randint(1861, 1979)
        if self._random.random() < 0.1:
            return f"{num2words(year // 100)} {num2words(year % 100)}"
        return str(num2words(year, to="year"))

    def digits(self, count: int) -> str:
        """Return single digits, zero also as "oh", pairs also as "double"."""
        said = []
        drawn = [self._random.randint(0, 9) for _ in range(count)]
        zero = self._random.choice(["zero", "oh", "zero", "nought"])
        at = 0
        while at < count:
            name = zero if drawn[at] == 0 else str(num2words(drawn[at]))
            is_pair = at + 1 < count and drawn[at] == drawn[at + 1]
            if is_pair and self._random.random() < 0.5:
                said.append(f"double {name}")
                at += 2
            else:
                said.append(name)
                at += 1
        return " ".join(said)

    def letters(self, count: int) -> str:
        """Return spelled letters."""
        return " ".join(self._random.choice("abcdefghijklmnopqrstuvwxyz") for _ in range(count))

    # Parts of notes ---------------------------------------------------------------------

    def _pick(self, *choices: str) -> str:
        return self._random.choice(choices)

    def _cue(self, name: str) -> str:
        return self._random.choice(self._cues[name])

    def _term(self, *fields: TermField) -> str:
        return self._random.choice(self._terms[self._random.choice(fields)])

    def _side(self) -> str:
        return self._pick("recto", "verso", "recto", "verso", "", "", "both sides")

    def _place(self) -> str:
        draw = self._random.random()
        if draw < 0.45:
            unit = "page" if self._habits.pages else "leaf"
            letter = self._pick("", "", "", "", "", " a", " b")
            side = "" if self._habits.pages else self._side()
            return f"{unit} {self.number(1, 120)}{letter} {side}"
        if draw < 0.7:
            return self._pick("next leaf", "next page", "verso", "recto", "turn over", "facing page",
                              "next leaf blank", "verso blank", "other side", "next page blank",
                              "opposite page", "back to leaf " + self.number())  # fmt: skip
        if draw < 0.85:
            return self._pick("front cover", "inside front cover", "back cover", "spine",
                              "inside back cover", "flyleaf", "back flyleaf", "flyleaf verso",
                              "fold out", "stub", "pocket")  # fmt: skip
        if draw < 0.93:
            first = self._random.randint(1, 60)
            plural = "pages" if self._habits.pages else "leaves"
            return self._pick(
                f"between {plural} {num2words(first)} and {num2words(first + 1)}",
                f"{plural} {num2words(first)} to {num2words(first + self._random.randint(1, 4))} blank",
                f"insert between {plural} {num2words(first)} and {num2words(first + 1)}",
            )
        return f"leaf {self.number(1, 90)} {self._cue('blank')}"

    def _counted_item(self) -> str:
        item = self._term(TermField.ITEM_TYPE)
        draw = self._random.random()
        if draw < 0.35:
            return f"{'an' if item[0] in 'aeiou' else 'a'} {item}"
        if draw < 0.45:
            return f"{self._pick('another', 'one', 'and a', 'also a', 'plus a')} {item}"
        if draw < 0.6:
            plural = item if item.endswith("s") else f"{item}s"
            return f"{num2words(self._random.randint(2, 9))} {plural}"
        return item

    def _item(self) -> str:
        parts = [self._counted_item()]
        for _ in range(self._random.choice([0, 0, 1, 1, 2, 3])):
            parts.append(self._detail())
        return " ".join(parts)

    def _detail(self) -> str:
        kinds = [TermField.ATTACHMENT, TermField.ADHESION, TermField.CONDITION, TermField.CONDITION,
                 TermField.ACTION, TermField.POSITION]  # fmt: skip
        field = self._random.choice([kind for kind in kinds if kind in self._terms])
        term = self._term(field)
        if self._random.random() > self._habits.verbs:
            return term
        if field is TermField.ATTACHMENT:
            return f"{self._pick('held by', 'attached with', 'with', 'stuck down with', 'held with')} {term}"
        if field is TermField.CONDITION:
            lead = self._pick(
                "some", "slight", "badly", "it is", "there is some", "a bit", "heavy", "it's"
            )
            where = self._pick("", "", "", f"at the {self._cue('damage_places')}")
            return f"{lead} {term} {where}"
        if field is TermField.POSITION:
            return f"{self._pick('in the', 'at the', '')} {term}"
        return f"{self._pick('it is', 'that has', '', 'it')} {term}"

    def _details(self) -> str:
        return " ".join(self._detail() for _ in range(self._random.choice([1, 1, 2, 3])))

    def _caption(self) -> str:
        draw = self._random.random()
        if draw < 0.3:
            text = f"{self._pick(*_NAMES)} and {self._pick(*_NAMES)} at the {self._pick(*_PLACES)}"
        elif draw < 0.55:
            text = (
                f"{self._pick('the', 'our', 'annual', 'club')} {self._pick(*_THINGS)} {self.year()}"
            )
        elif draw < 0.75:
            text = f"{self._pick(*_NAMES)} {self._pick(*_SURNAMES)} {self._pick(*_MONTHS)} {self.year()}"
        else:
            text = f"{self._pick('with love from', 'greetings from', 'to', 'in memory of', 'souvenir of')} {self._pick('the ' + self._pick(*_PLACES), self._pick(*_NAMES))}"
        end = self._pick("", "", "", "end caption", "end quote")
        return f"{self._cue('caption')} {text} {end}"

    def _enclosed(self) -> str:
        into = self._pick(
            "goes in", "goes into", "moved to", "put in", "in", self._cue("enclosed_in")
        )
        lead = self._pick("", "", "it", "both", "came off", "detached", "removed", "fell out")
        kind = self._pick(
            "envelope", "envelope", "envelope", "folder", "sleeve", "box", "four flap wrapper"
        )
        return f"{lead} {into} {kind} {self.number(1, 99)}"

    def _length(self) -> str:
        whole = self.number(1, 24)
        fraction = self._pick("", "", "", "and a half", "and a quarter", "and three quarters",
                              "and an eighth", "and three eighths", "point five", "and five eighths")  # fmt: skip
        return f"{whole} {fraction}"

    def _size(self) -> str:
        lead = self._pick("measures", "measures", "size", "it measures", "", "about")
        unit = self._pick("inches", "", "centimetres", "centimeters", "millimetres", "inches")
        if self._random.random() < 0.2:
            return f"{lead} {self._length()} {unit} high {self._length()} {unit} wide"
        third = f"by {self._length()}" if self._random.random() < 0.1 else ""
        return f"{lead} {self._length()} by {self._length()} {third} {unit}"

    def date(self) -> str:
        """Return a date as said."""
        draw = self._random.random()
        day = num2words(self._random.randint(1, 31), ordinal=True)
        month = self._pick(*_MONTHS)
        if draw < 0.25:
            return f"{month} {day} {self.year()}"
        if draw < 0.4:
            return f"{self._pick('the', '')} {day} {self._pick('of', '')} {month} {self.year()}"
        if draw < 0.55:
            return f"{month} {self.year()}"
        if draw < 0.75:
            return f"{self._pick('', 'circa', 'about', 'possibly', 'before', 'after', 'around')} {self.year()}"
        if draw < 0.85:
            decade = self._pick(
                "twenties", "thirties", "forties", "fifties", "sixties", "seventies"
            )
            return f"{self._pick('the', 'the early', 'the late', 'about the', 'nineteen')} {decade}"
        return self._pick(
            f"between {self.year()} and {self.year()}",
            f"from {self.year()} to {self.year()}",
            f"{self._pick('spring', 'summer', 'autumn', 'winter', 'christmas')} {self.year()}",
        )

    def _dated(self) -> str:
        return f"{self._pick('dated', 'dated', 'date', 'postmarked', '', 'back dated', 'undated')} {self.date()}"

    def _images(self) -> str:
        first = self._random.randint(1, 400)
        lead = self._pick("image", "images", "imaged as", "image number", "imaged")
        said = num2words(first).replace(" and ", " ")
        if self._random.random() < 0.4:
            return f"{lead} {said} {self._pick('and', 'to', 'through')} {num2words(first + 1)}"
        return f"{lead} {said}"

    def _volume(self) -> str:
        draw = self._random.random()
        name = f"the {self._pick(*_VOLUME_COLOURS)} {self._pick(*_VOLUME_NOUNS)}"
        if draw < 0.4:
            return f"volume {self.number(1, 12)} {self._pick('', self._cue('name'))} {self._pick(name, '')}"
        if draw < 0.7:
            fields = (TermField.BINDING, TermField.SUPPORT)
            return f"{self._term(*fields)} {self._pick('', 'with', 'and')} {self._term(*fields)} {self.number(10, 120)} leaves"
        if draw < 0.8:
            return f"{self._pick(*_COLOURS)} paper {self._term(TermField.OVERLAY)}"
        return self._pick("close volume", f"{name} {self.number(12, 80)} leaves", f"{name} goes in box {self.number(1, 9)}",
                          f"box {self.number(1, 9)} holds the volume {self.number(1, 4)} folders and {self.number(1, 20)} envelopes")  # fmt: skip

    def _accession(self) -> str:
        sign = self._pick("dash", "dash", "point", "slash", "hyphen", "dot", "")
        year = self._pick(
            self.digits(4), f"twenty {self.number(10, 39)}", f"nineteen {self.number(20, 99)}"
        )
        letters = self._pick("", "", "", self.letters(2), self.letters(1), self.letters(3))
        return f"{self._cue('accession')} {letters} {year} {sign} {self.digits(self._random.randint(2, 4))}"

    def _command(self) -> str:
        return self._cue(
            self._pick("strike", "strike", "check", "pause", "resume", "read_back", "close_volume")
        )

    def _correction(self) -> str:
        what = self._random.choice(
            [self._place, self._item, self._dated, self._size, self._enclosed, self._detail]
        )
        lead = self._pick(
            "correction", "correction", "no", "sorry", "i mean", "make that", self._cue("repair")
        )
        return f"{lead} {what()}"

    def _spelled(self) -> str:
        """Letters and digits in any order, as marks and names are spelled."""
        strings = [
            self.letters(self._random.randint(1, 6)),
            self.digits(self._random.randint(1, 6)),
            self.number(1, 999).replace(" and ", self._pick(" and ", " ")),
        ]
        chosen = self._random.sample(strings, self._random.choice([1, 2, 3]))
        return f"{self._pick('', '', '', 'spelled', 'marked', 'number')} {' '.join(chosen)}"

    def _sentence(self) -> str:
        """Whole sentences, as people say them who don't care for telegrams."""
        some, more = self._counted_item(), self._counted_item()
        item = self._term(TermField.ITEM_TYPE)
        state = self._term(TermField.CONDITION)
        held = self._term(TermField.ATTACHMENT)
        where = self._place()
        there = self._pick(
            "there is",
            "there's",
            "there are",
            "we have",
            "i have",
            "here is",
            "it has",
            "has",
            "i see",
            "i can see",
        )
        joining = self._pick(
            "and", "with", "and then", "then", "also", "and also", "and there's", "plus", "but"
        )
        all_of = self._pick(
            "both",
            "all",
            "each",
            "one is",
            "two are",
            "both are",
            "all are",
            "they are",
            "they're",
            "all of them",
            "both of them",
        )
        count = num2words(self._random.randint(2, 9))
        return self._pick(
            f"{where} has {some}",
            f"{where} {there} {some} {joining} {more}",
            f"on the {self._pick('recto', 'verso', 'facing page', 'next page', 'back', 'front', 'other side', 'left', 'right')} {there} {some}",
            f"{there} {some} {self._pick('held by', 'held with', 'attached with', 'in', 'with', 'under', 'behind')} {held}",
            f"{there} {some} of the {self._pick(*_PLACES)} {self._pick('in', 'outside', 'by', 'at', 'near')} the {self._pick(*_PLACES)}",
            f"{some} {joining} {more} {all_of} {state}",
            f"{some} {all_of} {state} {self._pick('', 'the other is', 'the others are', 'one is')}",
            f"the {item} is {state} {joining} {self._pick('it is', 'the', 'it has')} {self._detail()}",
            f"the {item} is dated {self.date()} {joining} {self._detail()}",
            f"{self._pick('they are', 'they were', 'it is', 'it was', 'this is', 'that is')} from {self._pick('about', 'possibly', 'maybe', '', 'around')} {self.year()}",
            f"{self._pick('inside the', 'on the', 'inside')} {self._pick('back cover', 'front cover', 'flyleaf')} {some} with {state} at the {self._term(TermField.POSITION)}",
            f"{self.number(10, 120)} leaves {joining} {state}",
            f"{self._pick('it is', 'this is', 'actually', 'i think', 'i would say', 'looks like')} {self._detail()} {joining} {self._detail()}",
            f"{self._pick('that', 'this', 'it')} {self._pick('goes', 'came', 'is', 'was', 'has', 'should be', 'will be', 'needs to be')} {self._term(TermField.ACTION)}",
            f"{count} {item}s {self._pick('one', 'two', 'all', 'both')} {self._pick('of them', 'is', 'are')} {state}",
            f"a {item} with {self._pick('a', 'some', 'slight', 'bad', 'no')} {state} {self._pick('but', 'and')} {self._pick('tight', 'loose', 'secure', 'clean', 'complete', 'holding')}",
        )  # fmt: skip

    def _relation(self) -> str:
        name = self._pick("inside", "behind", "under", "overlapping", "attached_to", "belongs_with")
        return f"{self._counted_item()} {self._cue(name)} {self._pick('the', '')} {self._term(TermField.ITEM_TYPE)}"
