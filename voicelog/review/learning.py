"""What corrections teach: misheard words that are understood from the next note on.

A lesson changes no entry: notes taken down before it are read as before. It can be taken back,
and then holds only for the notes in between.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
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

LONGEST_LESSON = 4
"""Words; what is longer is a sentence, not a misheard word."""
_TERM_FIELDS = frozenset({*TERM_LISTS, *SINGLE_TERMS})
_TEXT_FIELDS = frozenset({"caption", "remark", "volume_name"})
# Letters in common without the spaces, in percent (rapidfuzz's ratio); chosen by trying:
# "foxen" for foxing has 73, "ten tight" for tintype 40, two unlike words such as "corner" and
# tear 40. What is written quite differently is not offered, but can be typed in.
_ALIKE = 50


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


def find_offers(before: Entry, after: Entry, field: str) -> tuple[Lesson, ...]:
    """Return what a correction could teach, likeliest first.

    A term that was put in where something like it was heard; a word of a caption that was put
    right. Numbers and dates teach nothing.

    Args:
        before: the entry before the correction.
        after: the entry after it.
        field: the field that was corrected.
    """
    if field in _TERM_FIELDS:
        found = list(_offer_terms(before, after, field))
    elif field in _TEXT_FIELDS:
        found = list(_offer_words(before, after, field))
    else:
        return ()
    return tuple(dict.fromkeys(found))


def _offer_terms(before: Entry, after: Entry, field: str) -> Iterator[Lesson]:
    new = [term for term in _terms(after, field) if term not in _terms(before, field)]
    heard = [*_spans(before, field), *_spans(before, "remark")]
    for term in new:
        scored = [(_likeness(_words(span.text), term), span) for span in heard]
        likely = [
            (score, span)
            for score, span in scored
            if score >= _ALIKE
            and len(span.text.split()) <= LONGEST_LESSON
            and _words(span.text) != term
        ]
        if likely:
            _, span = max(likely, key=lambda one: one[0])
            example = Example(note=span.note, text=span.text)
            yield Lesson(heard=_words(span.text), meant=term, field=field, examples=(example,))


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
        if was.isdigit() or was == now.lower() or _likeness(was, now) < _ALIKE:
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
