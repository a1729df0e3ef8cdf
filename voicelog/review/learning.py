"""What corrections teach: misheard words that are understood from the next note on.

A lesson changes no entry: notes taken down before it are read as before. It can be taken back,
and then holds only for the notes in between.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from rapidfuzz import fuzz

from voicelog.domain.act import ActKind
from voicelog.domain.entry import Entry
from voicelog.domain.lesson import Example, Lesson
from voicelog.domain.note import Note, Span
from voicelog.domain.statement import KeepWords
from voicelog.errors import ReviewError
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene
from voicelog.extraction.tokens import tokenize
from voicelog.review.acting import Done
from voicelog.review.seat import Seat
from voicelog.review.typed_values import SINGLE_TERMS, TERM_LISTS, clean_text
from voicelog.store.log import Log
from voicelog.vocabulary import TermField, Vocabulary

LONGEST_LESSON = 4
"""Words; what is longer is a sentence, not a misheard word."""
_TERM_FIELDS = frozenset({*TERM_LISTS, *SINGLE_TERMS})
_TEXT_FIELDS = frozenset({"caption", "remark", "volume_name"})
# Letters in common without the spaces, in percent (rapidfuzz's ratio); chosen by trying, and on
# two tuning sessions: "foxen" for foxing has 73, "gondtape" for gummed tape 67, "drying" for
# drawing 57, two unlike words such as "corner" and tear 40. What is written quite differently
# is not offered, but can be typed in. Of the many other wordings for a term, one is always
# somewhat like what was heard; so the term itself may be less like it.
_ALIKE = 65
_FOR_THE_TERM = 15
_MOST_OF_IT = 0.7
_MOST_OFFERS = 3
"""For one term; the person who corrects it knows which is right."""


class Learning:
    """Takes in, lists and takes back lessons.

    Args:
        seat: the log, and who reviews it.
    """

    def __init__(self, seat: Seat) -> None:
        self._seat = seat

    def lessons(self) -> tuple[Lesson, ...]:
        """Return the lessons that hold now, in the order in which they were learnt."""
        with Log.open(self._seat.folder) as log:
            return tuple(one for one in log.iter_lessons() if one.until_note is None)

    def learn(self, lesson: Lesson) -> Done:
        """Take a lesson in, as it was offered or as somebody wrote it down.

        Raises:
            ReviewError: it is empty or too long, is known already, or what was heard means
                something by itself.
        """
        heard, meant = _words(clean_text("heard", lesson.heard)), clean_text("meant", lesson.meant)
        _check(self._seat.reader, heard, meant, lesson.field)
        with self._seat.acting() as act:
            known = [one for one in act.log.iter_lessons() if one.until_note is None]
            if any(one.heard == heard for one in known):
                raise ReviewError(f"{heard!r} is in the list already; take that away first.")
            details = {
                "heard": heard,
                "meant": meant,
                "field": lesson.field,
                "examples": [{"note": one.note, "text": one.text} for one in lesson.examples],
            }
            return act.record(ActKind.LEARN, details=details)

    def forget(self, number: int) -> Done:
        """Take a lesson back: notes from now on are read without it.

        Raises:
            ReviewError: there is no such lesson, or it was taken back.
        """
        with self._seat.acting() as act:
            held = {one.number for one in act.log.iter_lessons() if one.until_note is None}
            if number not in held:
                raise ReviewError("There is no such entry in the list; load the page again.")
            return act.record(ActKind.FORGET, details={"lesson": number})


def find_offers(
    before: Entry, after: Entry, field: str, vocabulary: Vocabulary
) -> tuple[Lesson, ...]:
    """Return what a correction could teach, likeliest first.

    A term that was put in where something like it was heard; a word of a caption that was put
    right. Numbers and dates teach nothing.

    Args:
        before: the entry before the correction.
        after: the entry after it.
        field: the field that was corrected.
        vocabulary: knows what else is said for a term.
    """
    if field in _TERM_FIELDS:
        found = list(_offer_terms(before, after, field, vocabulary))
    elif field in _TEXT_FIELDS:
        found = list(_offer_words(before, after, field))
    else:
        return ()
    return tuple(dict.fromkeys(found))


def _offer_terms(
    before: Entry, after: Entry, field: str, vocabulary: Vocabulary
) -> Iterator[Lesson]:
    new = [term for term in _terms(after, field) if term not in _terms(before, field)]
    heard = [(_words(span.text), span) for span in _spans(before, field)]
    heard += [
        (piece, span) for span in _spans(before, "remark") for piece in _pieces(_words(span.text))
    ]
    for term in new:
        others = _other_forms(vocabulary, field, term)
        scored = [
            (score, words, form, span)
            for words, span in heard
            if len(words.split()) <= LONGEST_LESSON and not _says_any(words, (term, *others))
            for form in dict.fromkeys((term, *others))
            if (score := _likeness(words, form) + (_FOR_THE_TERM if form == term else 0)) >= _ALIKE
        ]
        for words, form, span in _likeliest(scored):
            example = Example(note=span.note, text=span.text)
            yield Lesson(heard=words, meant=form, field=field, examples=(example,))


def _likeliest(scored: Iterable[tuple[float, str, str, Span]]) -> Iterator[tuple[str, str, Span]]:
    """Yield the likeliest readings, the best first, each of other words than those before."""
    taken: list[str] = []
    for _, words, form, span in sorted(scored, key=lambda one: -one[0]):
        if len(taken) < _MOST_OFFERS and not any(
            set(words.split()) & set(other.split()) for other in taken
        ):
            taken.append(words)
            yield words, form, span


def _says_any(words: str, forms: Iterable[str]) -> bool:
    """Say whether these words are one of the forms and little else: it was not misheard there."""
    return any(
        f" {form} " in f" {words} " and len(form) >= _MOST_OF_IT * len(words) for form in forms
    )


def _other_forms(vocabulary: Vocabulary, field: str, term: str) -> tuple[str, ...]:
    """Return what else is said for a term, in the words that are heard."""
    concept = vocabulary.find(TermField(field), term)
    return tuple(dict.fromkeys(map(_words, concept.forms()))) if concept else ()


def _pieces(text: str) -> Iterator[str]:
    """Yield every run of words that is no longer than a lesson, the longest first."""
    words = text.split()
    for length in range(min(LONGEST_LESSON, len(words)), 0, -1):
        for first in range(len(words) - length + 1):
            yield " ".join(words[first : first + length])


def _offer_words(before: Entry, after: Entry, field: str) -> Iterator[Lesson]:
    old, new = getattr(before, field) or "", getattr(after, field) or ""
    spans = _spans(before, field)
    if not spans:
        return
    heard, meant = old.split(), new.split()
    matcher = difflib.SequenceMatcher(a=heard, b=meant, autojunk=False)
    for change, first, last, begin, end in matcher.get_opcodes():
        if change != "replace" or max(last - first, end - begin) > LONGEST_LESSON:
            continue
        was, now = _words(" ".join(heard[first:last])), " ".join(meant[begin:end]).strip(",.;")
        if was.isdecimal() or was == now.lower() or _likeness(was, now) + _FOR_THE_TERM < _ALIKE:
            continue
        example = Example(note=spans[0].note, text=old)
        yield Lesson(heard=was, meant=now, field=field, examples=(example,))


def _check(reader: Reader, heard: str, meant: str, field: str) -> None:
    if not heard or not meant:
        raise ReviewError("Say both what is heard and what is meant.")
    if max(len(heard.split()), len(meant.split())) > LONGEST_LESSON:
        raise ReviewError(f"A lesson has {LONGEST_LESSON} words at most; take the misheard ones.")
    if field in _TEXT_FIELDS:
        return
    scene = Scene(has_volume=True, has_leaf=True, item_types=("postcard",))
    plain = replace(Note(number=0, uid="", text=heard))
    reading = reader.read(plain, Surroundings(scene=scene))
    if any(not isinstance(one, KeepWords) and not one.doubts for one in reading.statements):
        raise ReviewError(
            f"{heard!r} means something by itself, so it can't stand for {meant!r}; "
            "correct such entries one by one."
        )


def _terms(entry: Entry, field: str) -> tuple[str, ...]:
    value = getattr(entry, field)
    if value is None:
        return ()
    return value if isinstance(value, tuple) else (str(value),)


def _spans(entry: Entry, field: str) -> Sequence[Span]:
    origin = entry.sources.get(field)
    return origin if isinstance(origin, tuple) else ()


def _likeness(heard: str, meant: str) -> float:
    return fuzz.ratio(heard.replace(" ", ""), meant.replace(" ", "").lower())


def _words(text: str) -> str:
    return " ".join(token.norm for token in tokenize(text) if token.is_word)
