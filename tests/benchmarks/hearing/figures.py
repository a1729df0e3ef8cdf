"""What the cells come to: counts first, rates from them, each with its 95 % interval."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

import jiwer

from tests.benchmarks.hearing.cache import HeardClip
from tests.benchmarks.hearing.clips import Session
from tests.benchmarks.hearing.saying import as_spoken
from tests.benchmarks.hearing.wording import is_number, write_plainly
from tests.gold.score import Score, rows_of, score
from tests.recognition.spelled_strings import write_alike
from voicelog.domain.error_rate import wilson_interval
from voicelog.extraction.language.phrases import load_language
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

_SHORT_WORD = 3


@dataclass(kw_only=True)
class Share:
    """So many of so many."""

    count: int = 0
    of: int = 0

    def add(self, other: Share) -> None:
        """Add other counts."""
        self.count += other.count
        self.of += other.of

    @property
    def rate(self) -> float:
        """The share; 0 where nothing was counted."""
        return self.count / self.of if self.of else 0.0

    def __str__(self) -> str:
        """Return "12 of 300, 4.0 % (2.3 to 6.9)"; Wilson's interval, each one a trial."""
        if not self.of:
            return ""
        low, high = wilson_interval(min(self.count, self.of), self.of)
        return (
            f"{self.count} of {self.of}, {100 * self.rate:.1f} % "
            f"({100 * low:.1f} to {100 * high:.1f})"
        )


@dataclass(kw_only=True)
class Figures:
    """What one cell, or several together, come to.

    Attributes:
        clips: how many clips were heard.
        wrong: words wrong (substituted, left out, put in) of words said.
        plain_wrong: the same with numbers left out on both sides.
        terms_wrong: words of the vocabulary substituted or left out, of those said.
        numbers_right: numbers heard as they were said, of numbers said.
        strings_right: spoken strings of letters and numbers heard exactly.
        slots_right: words that people labelled in an order, found in what was heard.
        rows: how right the rows are, of whole sessions.
    """

    clips: int = 0
    wrong: Share = field(default_factory=Share)
    plain_wrong: Share = field(default_factory=Share)
    terms_wrong: Share = field(default_factory=Share)
    numbers_right: Share = field(default_factory=Share)
    strings_right: Share = field(default_factory=Share)
    slots_right: Share = field(default_factory=Share)
    rows: Score = field(default_factory=Score)

    def add(self, other: Figures) -> None:
        """Add the counts of another cell."""
        self.clips += other.clips
        self.wrong.add(other.wrong)
        self.plain_wrong.add(other.plain_wrong)
        self.terms_wrong.add(other.terms_wrong)
        self.numbers_right.add(other.numbers_right)
        self.strings_right.add(other.strings_right)
        self.slots_right.add(other.slots_right)
        self.rows.add(other.rows)


@cache
def term_words() -> frozenset[str]:
    """Return the words of terms, places and commands; the shortest (of, in, to) don't count."""
    vocabulary = load_vocabulary()
    wordings = [form for concept in vocabulary.concepts for form in concept.forms()]
    wordings += [wording for cues in load_language().cues.values() for wording in cues]
    wordings += list(vocabulary.hot_words())
    words = {word for wording in wordings for word in write_plainly(wording)}
    return frozenset(word for word in words if len(word) > _SHORT_WORD and not is_number(word))


def compare(said: str, heard: str) -> Figures:
    """Return the word counts of one clip."""
    said_words, heard_words = write_plainly(said), write_plainly(heard)
    figures = Figures(clips=1)
    figures.wrong = _count_wrong(said_words, heard_words)
    figures.plain_wrong = _count_wrong(
        [word for word in said_words if not is_number(word)],
        [word for word in heard_words if not is_number(word)],
    )
    kept = _kept(said_words, heard_words)
    terms = term_words()
    for word, is_right in zip(said_words, kept, strict=True):
        if is_number(word):
            figures.numbers_right.add(Share(count=is_right, of=1))
        elif word in terms:
            figures.terms_wrong.add(Share(count=not is_right, of=1))
    return figures


def count_strings(said: str, heard: str) -> Share:
    """Return whether a string of letters and numbers was heard exactly."""
    return Share(count=write_alike(said) == write_alike(heard), of=1)


def count_slots(slots: Iterable[str], heard: str) -> Share:
    """Return how many of the labelled words stand in what was heard."""
    text = f" {' '.join(write_plainly(heard))} "
    found = [f" {' '.join(write_plainly(slot))} " in text for slot in slots]
    return Share(count=sum(found), of=len(found))


def read_rows(session: Session, heard: Mapping[str, HeardClip], reader: Reader) -> Score:
    """Return how right the rows are that a session gives as it was heard."""
    logbook = Logbook(reader)
    for number, clip in enumerate(session.clips, start=1):
        logbook.take(heard[clip.name].as_note(number))
    return score(session.rows, rows_of(logbook.entries()), name=session.name)


def figures_of(
    sessions: Sequence[Session],
    heard: Mapping[str, HeardClip],
    *,
    reader: Reader,
    slots: Mapping[str, Sequence[str]],
) -> Figures:
    """Return what one cell comes to, as far as it was heard.

    Args:
        sessions: what was said.
        heard: what was heard, by clip.
        reader: reads the rows of sessions that were heard whole.
        slots: by recording, the words that people labelled in it.
    """
    total = Figures()
    for session in sessions:
        clips = [clip for clip in session.clips if clip.name in heard]
        for clip in clips:
            text = heard[clip.name].heard.text
            if session.rows or clip.name in slots:
                figures = compare(as_spoken(clip.said) if session.rows else clip.said, text)
                figures.slots_right = count_slots(slots.get(clip.name, ()), text)
            else:
                # Letters may stand together or apart: only the whole string can be judged.
                figures = Figures(clips=1, strings_right=count_strings(clip.said, text))
            total.add(figures)
        if session.rows and len(clips) == len(session.clips):
            total.rows.add(read_rows(session, heard, reader))
    return total


def _count_wrong(said: Sequence[str], heard: Sequence[str]) -> Share:
    if not said:
        return Share(count=len(heard))
    found = jiwer.process_words(" ".join(said), " ".join(heard))
    return Share(count=found.substitutions + found.deletions + found.insertions, of=len(said))


def _kept(said: Sequence[str], heard: Sequence[str]) -> list[bool]:
    """Return of each word said whether it was heard."""
    if not said:
        return []
    kept = [False] * len(said)
    for chunk in jiwer.process_words(" ".join(said), " ".join(heard)).alignments[0]:
        if chunk.type == "equal":
            kept[chunk.ref_start_idx : chunk.ref_end_idx] = [True] * (
                chunk.ref_end_idx - chunk.ref_start_idx
            )
    return kept
