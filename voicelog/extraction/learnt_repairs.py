"""What corrections taught the reader, each lesson for the notes that it holds for."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from voicelog.domain.lesson import Lesson
from voicelog.extraction.language.phrases import SoundAlike
from voicelog.extraction.sound_alikes import SoundAlikeRepair
from voicelog.extraction.tokens import tokenize
from voicelog.vocabulary import TermField

MakeRepair = Callable[[tuple[SoundAlike, ...]], SoundAlikeRepair]
"""Makes a repair that knows these sound-alikes before those of the language."""


class LearntRepairs:
    """The repair for each note: the language's sound-alikes, and the lessons of the log.

    Args:
        lessons: what was learnt, in order.
        make_repair: makes a repair with what is learnt on top.
    """

    def __init__(self, lessons: Iterable[Lesson], make_repair: MakeRepair) -> None:
        # A name in a caption is kept as it was heard; only terms are put in place of words.
        self._lessons = tuple(one for one in lessons if one.field in set(TermField))
        self._make_repair = make_repair
        self._made: dict[tuple[int, ...], SoundAlikeRepair] = {}

    def for_note(self, note: int) -> SoundAlikeRepair:
        """Return the repair that holds for a note."""
        holding = tuple(lesson for lesson in self._lessons if lesson.holds_for(note))
        key = tuple(lesson.number for lesson in holding)
        if key not in self._made:
            alikes = [_make_sound_alike(lesson) for lesson in holding]
            longest_first = tuple(sorted(alikes, key=lambda one: -len(one.heard)))
            self._made[key] = self._make_repair(longest_first)
        return self._made[key]


def _make_sound_alike(lesson: Lesson) -> SoundAlike:
    return SoundAlike(heard=_norms(lesson.heard), meant=_norms(lesson.meant))


def _norms(text: str) -> tuple[str, ...]:
    return tuple(token.norm for token in tokenize(text) if token.is_word)
