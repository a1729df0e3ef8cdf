"""Which words the model knows, and how they are said.

Every word of the vocabulary files and of what people say around the terms, with every
inflection the reader knows; numbers, letters, months; what invented notes are made of; then
the most frequent other words of English by wordfreq 3.1.1 (Speer, 2022: spoken and written
sources together), among the words of the small SCOWL lists (Debian's wamerican-small and
wbritish-small). Pronunciations are the CMU
dictionary's, then ours (pronunciations.toml of the package and of this folder), then those
that flite's letter-to-sound rules give.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from pathlib import Path

from voicelog.adapting.lexicon import (
    Lexicon,
    parse_pronunciations,
    pronounce,
    read_dictionary,
    words_in,
)
from voicelog.extraction.language.phrases import load_language
from voicelog.vocabulary import Vocabulary, load_vocabulary
from voicelog.vocabulary.inflection import in_american

FREQUENT_WORDS = 12_000
_SCOWL = ("/usr/share/dict/american-english-small", "/usr/share/dict/british-english-small")

_NUMBERS = """zero oh nought one two three four five six seven eight nine ten eleven twelve thirteen
fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty
ninety hundred thousand first second third fourth fifth sixth seventh eighth ninth tenth eleventh
twelfth thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth
thirtieth twenties thirties forties fifties sixties seventies eighties nineties half quarter
quarters eighths sixteenths double triple point dash slash hyphen dot stroke"""
_LETTERS = "a b c d e f g h i j k l m n o p q r s t u v w x y z zed"
_RADIO = """alfa alpha bravo charlie delta echo foxtrot golf hotel india juliet kilo lima mike
november oscar
papa quebec romeo sierra tango uniform victor whiskey xray yankee zulu"""
_DATES = """january february march april may june july august september october november december
spring summer autumn fall winter circa about around before after between monday tuesday wednesday
thursday friday saturday sunday century decade"""
_PLACES = """flyleaf flyleaves recto verso rectos versos spine pocket stub insert between facing
opposite turn over front back inside cover covers endpaper endpapers"""
_ADDRESSES = "mr mrs miss ms dr st auntie grandma grandpa"
_UNITS = """inch inches foot feet centimetre centimetres centimeter centimeters millimetre
millimetres millimeter millimeters metre metres by wide high tall thick deep long"""


def bench_words(vocabulary: Vocabulary | None = None) -> set[str]:
    """Return every word that a handler's notes are made of."""
    vocabulary = vocabulary or load_vocabulary()
    texts = [text for concept in vocabulary.concepts for text in (concept.term, *concept.variants)]
    language = load_language()
    for wordings in (*language.cues.values(), *language.words.values()):
        texts += wordings
    texts += [_NUMBERS, _LETTERS, _RADIO, _DATES, _PLACES, _UNITS, _ADDRESSES]
    words = {word for text in texts for word in words_in(text)}
    return words | {plural for word in words for plural in _inflected(word)}


def _inflected(word: str) -> Iterable[str]:
    """Yield forms of a word that the CMU dictionary knows as well."""
    known = read_dictionary()
    for form in (f"{word}s", f"{word}es", f"{word}ed", f"{word}ing", f"{word}'s"):
        if len(word) > 2 and form in known:
            yield form


def frequent_words(count: int) -> list[str]:
    """Return the most frequent words of general English that have a known pronunciation."""
    # Only who builds a model needs the list.
    from wordfreq import top_n_list  # noqa: PLC0415

    known = read_dictionary()
    listed = {
        line.strip() for path in _SCOWL for line in Path(path).read_text("utf-8").splitlines()
    }
    ranked = (word for word in top_n_list("en", 200_000) if word in listed)
    return list(islice((word for word in ranked if in_american(word) in known), count))


def make_lexicon(words: Iterable[str]) -> Lexicon:
    """Return the words with their pronunciations, each a tuple of phones.

    Raises:
        ValueError: nobody knows how some are said; is flite installed?
    """
    listed = Path(__file__).with_name("pronunciations.toml").read_text("utf-8")
    lexicon, unknown = pronounce(words, first=parse_pronunciations(listed))
    if unknown:
        raise ValueError(f"no pronunciation of {', '.join(unknown)}; install flite")
    return lexicon
