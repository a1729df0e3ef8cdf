"""A repository's own words: read from a file, taken from its terms, said, and put into notes."""

from __future__ import annotations

import random
import re
import tomllib
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from itertools import product

from voicelog.adapting.lexicon import Lexicon, Pronunciation, is_listed, pronounce, words_in
from voicelog.adapting.wordings import Rule, Wordings
from voicelog.errors import UsageError
from voicelog.vocabulary import Concept
from voicelog.vocabulary.concepts import FIELDS_WITH_PLURALS
from voicelog.vocabulary.inflection import plural_forms

NOTES_A_NAME = 150.0
"""How often a name or a term is heard of, among the notes that the model was counted from."""

_NOTES_A_VARIANT = 50.0
_EXAMPLES = 600
"""In how many notes each is put; together they count as often as said above."""

_BLANKS = {"an": "o___", "a": "___"}
"""What stands for a word in notes, by the article that the word takes."""
_MOST_PRONUNCIATIONS = 3
_SEED = 78


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnName:
    """A word or a name of several words that a repository's notes hold.

    Attributes:
        written: as people write it.
        alike: strings of words that sound like it; none where its spelling tells how it is said.
    """

    written: str
    alike: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnWords:
    """What a repository's notes hold that others' don't.

    Attributes:
        names: its names by their words in the model's spelling.
        concepts: the terms of its own vocabulary files.
    """

    names: Mapping[str, OwnName]
    concepts: Sequence[Concept] = ()

    def words(self) -> tuple[str, ...]:
        """Return every single word of names and terms."""
        wordings = (*self.names, *(said for said, _ in _iter_wordings(self.concepts)))
        return tuple(dict.fromkeys(word for wording in wordings for word in words_in(wording)))

    def written(self, new_words: Collection[str]) -> tuple[str, ...]:
        """Return the names and those terms in which there are new words, as people write them."""
        terms = (concept.term for concept in self.concepts)
        strange = (term for term in terms if not set(words_in(term)).isdisjoint(new_words))
        return tuple(dict.fromkeys((*(name.written for name in self.names.values()), *strange)))


def parse_names(text: str, *, origin: str) -> dict[str, OwnName]:
    """Return the names of a list, and what they are said like.

    A line has a word or a name of several; behind an equals sign stand words that sound like it. A
    name that is said in two ways has two lines. Lines behind a hash are for people.

    Args:
        text: the list.
        origin: what it is called in sentences about it.

    Raises:
        UsageError: lines have no word in them, or more than words; the sentence names them.

    >>> parse_names("Quillhaven = quill haven", origin="names.txt")
    {'quillhaven': OwnName(written='Quillhaven', alike=('quill haven',))}
    """
    names: dict[str, OwnName] = {}
    problems = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        written, equals, alike = line.partition("=")
        name, said = (" ".join(words_in(part)) for part in (written, alike))
        if problem := _find_problem(line, name, said if equals else None):
            problems.append(f"line {number} {problem}")
            continue
        before = names.get(name, OwnName(written=" ".join(written.split())))
        names[name] = replace(before, alike=(*before.alike, said)) if said else before
    if problems:
        raise UsageError(f"{origin} can't be used: {'; '.join(problems)}.")
    return names


def _find_problem(line: str, name: str, said: str | None) -> str:
    """Return what is wrong with a line, or nothing."""
    foreign = next((sign for sign in line if _is_foreign(sign)), "")
    if any(sign.isdecimal() for sign in line):
        return f"has figures in it ({line.strip()}); write them as words"
    if foreign:
        return f"has the letter {foreign} in it; write the name in letters from a to z"
    if not name:
        return f"has no word in it ({line.strip()})"
    if said == "":
        return f"doesn't say how {name} is said; write it, or leave out the equals sign"
    if said and " " in name:
        return f"says how {name} is said, which is more than one word; give each word its own line"
    return ""


def _is_foreign(sign: str) -> bool:
    return sign.isalpha() and not re.match(r"[a-z]", unicodedata.normalize("NFKD", sign.lower()))


def make_own_lexicon(own: OwnWords, known: Lexicon) -> Lexicon:
    """Return the words that a model lacks, or is to know otherwise, and how they are said.

    Args:
        own: the repository's words.
        known: the model's words.

    Raises:
        UsageError: nobody here knows how some are said; the sentence names them.
    """
    alike = {word for name in own.names.values() for said in name.alike for word in said.split()}
    told = {name for name, one in own.names.items() if one.alike}
    plain = [word for word in own.words() if word not in told]
    guessed, unknown = pronounce(word for word in {*alike, *plain} if word not in known)
    if unknown:
        first = unknown[0]
        raise UsageError(
            f"No dictionary here has {', '.join(unknown)}; write into the list of words what each "
            f"sounds like, as in 'Quillhaven = quill haven' ('{first} = ...'), or install flite, "
            "which guesses."
        )
    parts = {**known, **guessed}
    lexicon = {word: guessed[word] for word in plain if word in guessed}
    for name in told:
        ways = [way for said in own.names[name].alike for way in _joined(said, parts)]
        every = dict.fromkeys((*ways, *known.get(name, ())))
        lexicon[name] = tuple(every)[:_MOST_PRONUNCIATIONS]
    return lexicon


def find_guessed(own: OwnWords, new_words: Iterable[str]) -> tuple[str, ...]:
    """Return the new words of which neither the list nor a dictionary tells how they are said."""
    told = {name for name, one in own.names.items() if one.alike}
    return tuple(word for word in new_words if word not in told and not is_listed(word))


def _joined(said: str, parts: Lexicon) -> Iterator[Pronunciation]:
    for way in product(*(parts[word] for word in said.split())):
        yield tuple(phone for word in way for phone in word)


def iter_own_notes(own: OwnWords) -> Iterator[tuple[list[str], float]]:
    """Yield notes in which the repository's words occur, and how much each counts."""
    examples = _Examples()
    wanted = [
        *((name, "name", NOTES_A_NAME) for name in own.names),
        *((concept.term, str(concept.field), NOTES_A_NAME) for concept in own.concepts),
        *((said, rule, _NOTES_A_VARIANT) for said, rule in _iter_wordings(own.concepts)),
    ]
    for said, rule, times in wanted:
        words = " ".join(words_in(said))
        article = "an" if words[:1] in "aeiou" else "a"
        for note in examples.of(rule, article):
            yield note.replace(_BLANKS[article], words).split(), times / _EXAMPLES


class _Examples:
    """Notes with a blank for a word, each kind drawn once: the same ones for every word."""

    def __init__(self) -> None:
        text = resources.files("voicelog.adapting").joinpath("own_notes.toml").read_text("utf-8")
        self._rules = {name: Rule(wordings) for name, wordings in tomllib.loads(text).items()}
        self._drawn: dict[tuple[str, str], tuple[str, ...]] = {}

    def of(self, rule: str, article: str) -> tuple[str, ...]:
        """Return the notes of a rule, for words that take "an" or "a"."""
        key = (rule, article)
        if key not in self._drawn:
            rules = {**self._rules, "own": Rule([_BLANKS[article]])}
            # Nothing but the choice of examples depends on these draws.
            writer = Wordings(rules, random.Random(_SEED))  # noqa: S311
            self._drawn[key] = tuple(writer.draw(rule) for _ in range(_EXAMPLES))
        return self._drawn[key]


def _iter_wordings(concepts: Iterable[Concept]) -> Iterator[tuple[str, str]]:
    """Yield what people say for terms, and by which rule it occurs in notes."""
    for concept in concepts:
        for said in (concept.term, *concept.variants):
            yield said, str(concept.field)
            if concept.field in FIELDS_WITH_PLURALS:
                yield from ((several, "several") for several in plural_forms(said))
