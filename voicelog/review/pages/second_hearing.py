"""Hearing a note again with another recogniser, and what it hears otherwise."""

from __future__ import annotations

import difflib
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from voicelog.domain.note import Note
from voicelog.recognition.excerpt import read_excerpt
from voicelog.recognition.recogniser import Recogniser, Segment


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A stretch of two texts, word by word.

    Attributes:
        was: the words of the first text.
        now: the words of the second.
        is_same: whether they are the same but for capitals and punctuation.
    """

    was: str
    now: str
    is_same: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondHearing:
    """The recognisers of this machine, each made when it is first asked.

    Attributes:
        recognisers: by the engine's name, what makes or returns it.
    """

    recognisers: Mapping[str, Callable[[], Recogniser]]
    _one_at_a_time: threading.Lock = field(default_factory=threading.Lock)

    def others(self, engine: str) -> tuple[str, ...]:
        """Return the engines besides one."""
        return tuple(name for name in self.recognisers if name != engine)

    def hear(self, engine: str, audio_folder: Path, note: Note) -> str:
        """Return what another engine hears in a note that has sound.

        Raises:
            RecogniserError: its model is missing or damaged.
            PlugInBroken: it is a plug-in's, which can't be used.
            UnreadableRecording: the recording is not there any more.
        """
        start_s, end_s = note.start_s or 0.0, note.end_s or 0.0
        samples = read_excerpt(audio_folder / (note.recording or ""), start_s=start_s, end_s=end_s)
        with self._one_at_a_time:
            heard = self.recognisers[engine]().recognise(
                Segment(samples=samples, start_s=start_s, end_s=end_s)
            )
        return heard.text


def compare_words(was: str, now: str) -> tuple[Difference, ...]:
    """Return where two texts differ; capitals and punctuation don't count.

    >>> [(one.was, one.now) for one in compare_words("A badge fell out.", "a batch fell out")]
    [('A', 'a'), ('badge', 'batch'), ('fell out.', 'fell out')]
    >>> [one.is_same for one in compare_words("A badge.", "a badge")]
    [True]
    """
    first, second = was.split(), now.split()
    matcher = difflib.SequenceMatcher(
        a=[_bare(word) for word in first], b=[_bare(word) for word in second], autojunk=False
    )
    return tuple(
        Difference(was=" ".join(first[a:b]), now=" ".join(second[c:d]), is_same=what == "equal")
        for what, a, b, c, d in matcher.get_opcodes()
    )


def _bare(word: str) -> str:
    return word.casefold().strip(".,;:!?“”\"'")
