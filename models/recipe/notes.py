"""Invented notes, as handlers of many habits would say them.

Terse, chatty, hesitating, British and American, by leaf and by page, with captions. They
teach the language model what notes sound like, and the voices what to say. Their wordings
stand in notes.toml; terms come from the vocabulary and cues from the reader, never from the
gold sessions, which are kept for measuring.
"""

from __future__ import annotations

import random
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path

from num2words import num2words  # type: ignore[import-untyped]

from models.recipe.general import iter_sentences
from voicelog.adapting.lexicon import words_in
from voicelog.adapting.wordings import SLOT, Rule, Wordings
from voicelog.extraction.language.phrases import load_language
from voicelog.vocabulary import Vocabulary, load_vocabulary

_MONTHS = """january february march april may june july august september october november
december""".split()
_NAMES = """alice ada albert agnes arthur beryl bill clara charles doris dora edith edward ellen elsie
emily ernest ethel eva fred florence frank george grace harold harry hazel helen henry ida irene
ivy jack james jane jean jim joan john joe june kate len lily louis lucy mabel margaret mary maud
may mildred minnie molly nell nora norman olive oscar percy peter phyllis ray rose ruth sam sidney
stan stella susan ted thomas tom vera violet walter wilfred will winifred auntie uncle mother
father grandma baby""".split()
_SURNAMES = """baker barnes bell bishop brook carter chapman clarke cole cook cooper davis dean dixon
ellis fisher ford foster fox grant gray green hall harris hill holt hughes hunt king lamb lane lee
marsh mason mills moore morgan nash newton page parker perry porter price reed rice ross shaw
short stone swift turner wade walker ward webb wells west white wood young""".split()
_OUTINGS = """picnic outing dinner dance parade regatta concert fair race match supper play wedding
christening reunion excursion carnival meeting bazaar exhibition swim hike camp rally ball tea
lecture visit sale party pageant""".split()
_TOWN_PLACES = """pier hall station river bridge lake church school mill garden park hotel harbour
beach farm square valley tower market town village club bandstand boathouse quay barn rock
lighthouse house shop street hill""".split()
_COLOURS = "black grey beige blue green brown cream white red yellow pink gray".split()
_RADIO = """alpha bravo charlie delta echo foxtrot golf hotel india juliet kilo lima mike november
oscar papa quebec romeo sierra tango uniform victor whiskey yankee zulu""".split()
_HESITATIONS = ("um", "uh", "er", "erm")
_FRACTIONS = ("and a half", "and a quarter", "and three quarters", "and an eighth", "point five",
              "and three eighths", "and five eighths", "and seven eighths", "point two")  # fmt: skip

_RANGE = re.compile(r"(\d+)-(\d+)")
_ARTICLES = frozenset({"a", "an", "the"})
_LONGEST_WORDS = 45


class NoteWriter(Wordings):
    """Writes one note after another, all of them with one generator of random numbers."""

    def __init__(self, seed: int, vocabulary: Vocabulary | None = None) -> None:
        """Prepare to write.

        Args:
            seed: the same notes again for the same seed.
            vocabulary: whose terms are used; voicelog's own, if not given.
        """
        rules = {
            **_read_rules(),
            **{f"cue.{name}": Rule(wordings) for name, wordings in _cues().items()},
            **_terms(vocabulary or load_vocabulary()),
        }
        super().__init__(rules, random.Random(seed))
        self._makers: Mapping[str, Callable[[], str]] = {
            "year": self.year,
            "date": self.date,
            "length": self._length,
            "pair": self._pair,
            "letters": lambda: self.letters(self._random.randint(1, 5)),
            "spelled": self._spelled,
            "plural": self._plural,
            "general": lambda: self._random.choice(_short_sentences()),
            "nth": lambda: str(num2words(self._random.randint(1, 31), ordinal=True)),
            **{
                name: lambda words=words: self._random.choice(words)  # type: ignore[misc]
                for name, words in (
                    ("month", _MONTHS),
                    ("name", _NAMES),
                    ("surname", _SURNAMES),
                    ("outing", _OUTINGS),
                    ("town_place", _TOWN_PLACES),
                    ("colour", _COLOURS),
                    ("radio", _RADIO),
                )
            },
        }

    def words(self) -> set[str]:
        """Return every word that may occur in a note by itself, not as part of a sentence."""
        rules = " ".join(wording for rule in self._rules.values() for wording in rule.wordings)
        lists = (*_NAMES, *_SURNAMES, *_OUTINGS, *_TOWN_PLACES, *_COLOURS, *_RADIO, *_HESITATIONS)
        return {*words_in(SLOT.sub(" ", SLOT.sub(" ", rules))), *lists}

    def iter_notes(self, count: int) -> Iterator[str]:
        """Yield notes in lower case, without punctuation."""
        for _ in range(count):
            yield " ".join(self._spoken(self.expand("{note}")))

    def _spoken(self, note: str) -> list[str]:
        """Return the words of a note as somebody might say them who thinks meanwhile."""
        draw = self._random
        if draw.random() < 0.1:
            note = f"{note} {self.expand('{note}')}"
        words = words_in(note)[:_LONGEST_WORDS]
        if draw.random() < 0.05:
            words = [word for word in words if word not in _ARTICLES] or words
        if draw.random() < 0.06:
            words.insert(draw.randint(0, len(words)), draw.choice(_HESITATIONS))
        if draw.random() < 0.01:
            again = draw.randrange(len(words))
            words.insert(again, words[again])
        return words

    def draw(self, name: str) -> str:
        """Return what a rule gives, a field of the vocabulary, or one of what is made here."""
        if name in self._makers:
            return self._makers[name]()
        if found := _RANGE.fullmatch(name):
            return self.number(int(found[1]), int(found[2]))
        if name.startswith("digits."):
            return self.digits(int(name.removeprefix("digits.")))
        return super().draw(name)

    # What a list of wordings can't say --------------------------------------------------------

    def number(self, low: int = 1, high: int = 60) -> str:
        """Return a number as said."""
        said = str(num2words(self._random.randint(low, high)))
        return said.replace(" and ", self._random.choice([" and ", " "]))

    def year(self) -> str:
        """Return a year as said: "nineteen fifty two"."""
        year = self._random.randint(1861, 1979)
        draw = self._random.random()
        if draw < 0.1:
            return f"{num2words(year // 100)} {num2words(year % 100)}"
        if draw < 0.15:
            return str(num2words(year % 100))
        return str(num2words(year, to="year"))

    def digits(self, count: int) -> str:
        """Return single digits, zero also as "oh", pairs also as "double"."""
        said = []
        drawn = [self._random.randint(0, 9) for _ in range(count)]
        if self._random.random() < 0.3:
            drawn[: count // 2 + 1] = [0] * (count // 2 + 1)
        zero = self._random.choice(["zero", "oh", "zero", "nought", "o"])
        at = 0
        while at < count:
            name = zero if drawn[at] == 0 else str(num2words(drawn[at]))
            is_pair = at + 1 < count and drawn[at] == drawn[at + 1]
            if is_pair and self._random.random() < 0.3:
                said.append(f"double {name}")
                at += 2
            else:
                said.append(name)
                at += 1
        return " ".join(said)

    def letters(self, count: int) -> str:
        """Return spelled letters."""
        return " ".join(self._random.choice("abcdefghijklmnopqrstuvwxyz") for _ in range(count))

    def date(self) -> str:
        """Return a date as said."""
        return self.draw("a_date")

    def _spelled(self) -> str:
        """A word letter by letter, as names are spelled."""
        return " ".join(self._random.choice((*_NAMES, *_SURNAMES, *_TOWN_PLACES)))

    def _length(self) -> str:
        whole = self.number(1, self._random.choice([12, 24, 60]))
        return (
            f"{whole} {self._random.choice(_FRACTIONS)}" if self._random.random() < 0.5 else whole
        )

    def _pair(self) -> str:
        first = self._random.randint(1, 140)
        second = first + self._random.choice([1, 1, 1, 2, 3])
        between = self._random.choice(["and", "and", "to", "through"])
        return f"{num2words(first)} {between} {num2words(second)}"

    def _plural(self) -> str:
        thing = self._rules["item_type"].draw(self._random)
        if thing.endswith("s"):
            return thing
        if thing.endswith("y") and thing[-2] not in "aeiou":
            return f"{thing[:-1]}ies"
        return f"{thing}es" if thing.endswith(("x", "ch", "sh")) else f"{thing}s"


def _read_rules() -> dict[str, Rule]:
    text = Path(__file__).with_name("notes.toml").read_text("utf-8")
    return {name: Rule(wordings) for name, wordings in tomllib.loads(text).items()}


def _cues() -> dict[str, Sequence[str]]:
    language = load_language()
    words = {name: tuple(sorted(wordings)) for name, wordings in language.words.items()}
    return {**language.cues, **words}


def _terms(vocabulary: Vocabulary) -> dict[str, Rule]:
    """Return a rule for every field of the vocabulary; preferred terms are said more often."""
    terms: dict[str, list[str]] = {}
    for concept in vocabulary.concepts:
        wordings = terms.setdefault(str(concept.field), [])
        wordings += [concept.term] * 8
        # The list begins with what is said most.
        wordings += [*concept.variants[:3] * 2, *concept.variants]
    return {field: Rule(wordings) for field, wordings in terms.items()}


@cache
def _short_sentences() -> tuple[str, ...]:
    return tuple(
        " ".join(words) for text in iter_sentences() if 2 <= len(words := words_in(text)) <= 9
    )
