"""What one reviewed day is worth on the next: the same handler, the same words, other notes.

    python -m tests.benchmarks.hearing.second_day CACHE --voice flite-rms

Day one: tuning sessions in one voice are heard by one engine, taken into a log, and corrected
by a reviewer who knows the truth and keeps every "sounds like" that the corrections offer
and that is right. Day two: other notes of the same voice are heard and read twice, as if
nobody had learnt anything, and with what the log has learnt. Counted are the terms of each
note as it was typed: how many of those that were corrected on day one are missing from what
was heard, how many others are, and how many are there that nobody said.
"""

from __future__ import annotations

import argparse
import tempfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from models.recipe.notes import NoteWriter
from tests.benchmarks.hearing.cache import Cell, HeardClip, HearingCache
from tests.benchmarks.hearing.clips import Clip, Session, make_clip, read_gold
from tests.benchmarks.hearing.conditions import CLEAN
from tests.benchmarks.hearing.engines import DEAF_TO_BIASING, ENGINES, Fixed
from tests.benchmarks.hearing.figures import Share
from tests.benchmarks.hearing.hear import Wanted, hear
from voicelog.domain.lesson import Lesson
from voicelog.domain.note import Note
from voicelog.errors import VoicelogError
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.review.reviewer import Reviewer
from voicelog.review.typed_values import SINGLE_TERMS, TERM_LISTS
from voicelog.session.scribe import Scribe, Utterance
from voicelog.store.entry_log import StoredEntry
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import Vocabulary, load_vocabulary

MADE_BY = "second day"
_TERM_FIELDS = (*TERM_LISTS, *SINGLE_TERMS)
_SOME_ITEM = "leaf five, a document"
_DRAWN_FROM = 6_000
_SEED = 20_311

Term = tuple[str, str]
"""A field and one of its terms."""


@dataclass(kw_only=True)
class Missed:
    """Terms of day two.

    Attributes:
        corrected: terms missing that were corrected on day one, of those said.
        others: other terms missing, of those said.
        invented: terms heard that nobody said; counted against the terms said.
    """

    corrected: Share = field(default_factory=Share)
    others: Share = field(default_factory=Share)
    invented: Share = field(default_factory=Share)


def spend_a_day(folder: Path, heard: Iterable[HeardClip], reader: Reader) -> None:
    """Take down in a log what was heard."""
    with WritableLog.open_to_write(folder, made_by=MADE_BY) as log:
        scribe = Scribe(log, Logbook(reader))
        for one in heard:
            scribe.take_down(
                Utterance(
                    text=one.heard.text,
                    words=one.heard.words,
                    engine=one.cell.engine,
                    model=one.model,
                    alternatives=one.heard.alternatives,
                )
            )


def review(folder: Path, session: Session, reader: Reader) -> set[Term]:
    """Put right the terms of every note, in the rows it became; return which ones.

    The reviewer hears the note, and keeps an offer if the words stand there that it says were
    heard, and nobody said them all day.
    """
    reviewer = Reviewer(folder, reader, by="Ida Marsh", made_by=MADE_BY)
    everything_said = " ".join(clip.said.lower() for clip in session.clips)
    corrected: set[Term] = set()
    for number, clip in enumerate(session.clips, start=1):
        with Log.open(folder) as log:
            heard = next(note.text for note in log.iter_notes() if note.number == number)
        said, got = (terms_of(text, reader, number=1) for text in (clip.said, heard))
        for name in {name for name, _ in said - got}:
            stored = _find_row(folder, number)
            if stored is None:
                continue
            missing = [term for field, term in said - got if field == name]
            wrong = {term for field, term in got - said if field == name}
            present = getattr(stored.entry, name)
            kept = [term for term in present if term not in wrong] if name in TERM_LISTS else []
            done = reviewer.set_value(stored.seen, name, "; ".join([*kept, *missing]))
            corrected |= {(name, term) for term in missing}
            for offer in done.offers:
                if offer.heard in heard.lower() and offer.heard not in everything_said:
                    _keep(reviewer, offer)
    return corrected


def _find_row(folder: Path, number: int) -> StoredEntry | None:
    """Return the last row that a note made or changed; rows that a person locked don't count."""
    with Log.open(folder) as log:
        rows = [one for one in log.iter_stored() if number in one.entry.notes]
    return rows[-1] if rows else None


def _keep(reviewer: Reviewer, offer: Lesson) -> None:
    try:
        reviewer.learning.learn(offer)
    except VoicelogError as refusal:
        print(f"  not learnt: {refusal}")


def draw_notes(corrected: set[Term], reader: Reader, *, each: int, others: int) -> Iterator[str]:
    """Yield invented notes: some with each term that was corrected, some with none of them."""
    left = dict.fromkeys(corrected, each)
    for note in NoteWriter(_SEED).iter_notes(_DRAWN_FROM):
        terms = terms_of(note, reader, number=1)
        in_it = terms & corrected
        if any(left[term] for term in in_it):
            left.update({term: max(0, left[term] - 1) for term in in_it})
            yield note
        elif terms and not in_it and others:
            others -= 1
            yield note


def terms_of(text: str, reader: Reader, *, number: int) -> set[Term]:
    """Return the terms that a note gives, said about some item."""
    logbook = Logbook(reader)
    # Far behind the notes of day one, so that every lesson holds.
    logbook.take(Note(number=number - 1, uid="item", text=_SOME_ITEM))
    logbook.take(Note(number=number, uid="note", text=text))
    found = set()
    for entry in logbook.entries():
        for name in _TERM_FIELDS:
            value = getattr(entry, name)
            terms = value if isinstance(value, tuple) else [str(value)] if value else []
            found.update((name, term) for term in terms)
    return found - {("item_type", "document")}


def judge(
    clips: Iterable[Clip], heard: dict[str, HeardClip], reader: Reader, corrected: set[Term]
) -> Missed:
    """Return which terms of day two are missing, and which nobody said."""
    missed = Missed()
    plain = Reader(reader.vocabulary, ReadingOptions())
    for number, clip in enumerate(clips, start=10_000):
        said = terms_of(clip.said, plain, number=number)
        got = terms_of(heard[clip.name].heard.text, reader, number=number)
        for term in said:
            share = missed.corrected if term in corrected else missed.others
            share.add(Share(count=term not in got, of=1))
        missed.invented.add(Share(count=len(got - said), of=len(said)))
    return missed


def hear_again(
    cache: HearingCache, engine: str, voice: str, session: Session, words: tuple[str, ...]
) -> dict[str, HeardClip]:
    """Hear a session, told to expect these words."""
    told = f"words {zlib.crc32(' '.join(words).encode()):08x}"
    cell = Cell(set_name="second_day", voice=voice, condition=CLEAN, engine=engine, biasing=told)
    hear(cache, [Wanted(cell=cell, sessions=(session,), biasing=lambda _: Fixed(*words))])
    return cache.heard(cell)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print what was corrected, what was learnt, and a Markdown table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    parser.add_argument("--voice", default="flite-rms")
    parser.add_argument("--engine", default="both", choices=list(ENGINES))
    parser.add_argument("--notes", type=int, default=250, help="of day one, at least")
    parser.add_argument("--each", type=int, default=5, help="notes of day two for each term")
    parser.add_argument("--others", type=int, default=40, help="notes of day two with none")
    given = parser.parse_args(arguments)
    cache = HearingCache(given.cache)
    vocabulary = load_vocabulary()
    lessons, corrected = spend_and_review(cache, given, vocabulary)
    plain = Reader(vocabulary, ReadingOptions())
    notes = draw_notes(corrected, plain, each=given.each, others=given.others)
    session = Session(
        name="day two",
        clips=tuple(
            make_clip(given.voice, f"day_two-{zlib.crc32(note.encode()):08x}", note)
            for note in notes
        ),
    )
    wiser = replace(vocabulary, learnt=tuple(one.meant for one in reversed(lessons)))
    days = {
        "nothing learnt": (vocabulary, ()),
        "told to expect": (wiser, ()),
        "told, and read with": (wiser, lessons),
    }
    print(f"\n{given.voice}, {given.engine}: {len(lessons)} lessons, {len(session.clips)} notes\n")
    print("| day two | corrected terms missing | other terms missing | terms nobody said |")
    print("|---|---|---|---|")
    for name, (words_of, learnt) in days.items():
        heard = hear_again(cache, given.engine, given.voice, session, words_of.hot_words())
        reader = Reader(words_of, ReadingOptions(), learnt)
        missed = judge(session.clips, heard, reader, corrected)
        print(f"| {name} | {missed.corrected} | {missed.others} | {missed.invented} |")


def spend_and_review(
    cache: HearingCache, given: argparse.Namespace, vocabulary: Vocabulary
) -> tuple[tuple[Lesson, ...], set[Term]]:
    """Return what day one taught, and the terms that were corrected.

    Each session has a log of its own; their lessons come together.
    """
    reader = Reader(vocabulary, ReadingOptions())
    sessions = read_gold("tuning", given.voice, least_notes=given.notes)
    biasing = "none" if given.engine in DEAF_TO_BIASING else "standing"
    cell = Cell(
        set_name="tuning",
        voice=given.voice,
        condition=CLEAN,
        engine=given.engine,
        biasing=biasing,
    )
    hear(cache, [Wanted(cell=cell, sessions=sessions)])
    heard = cache.heard(cell)
    learnt: dict[str, Lesson] = {}
    corrected: set[Term] = set()
    with tempfile.TemporaryDirectory() as folder:
        for session in sessions:
            log = Path(folder) / session.name
            spend_a_day(log, (heard[clip.name] for clip in session.clips), reader)
            corrected |= review(log, session, reader)
            with Log.open(log) as opened:
                learnt.update((one.heard, one) for one in opened.iter_lessons())
    lessons = tuple(
        replace(one, number=number, from_note=0)
        for number, one in enumerate(learnt.values(), start=1)
    )
    spoken = sum(len(session.clips) for session in sessions)
    print(
        f"day one: {len(sessions)} sessions, {spoken} notes, {len(corrected)} terms corrected, "
        f"{len(lessons)} lessons kept:"
    )
    for one in lessons:
        print(f"  {one.heard!r} is {one.meant!r} ({one.field})")
    return lessons, corrected


if __name__ == "__main__":
    main()
