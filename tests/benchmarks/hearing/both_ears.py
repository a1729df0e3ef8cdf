"""What was heard by both ears, note by note, out of the cache; joined, read and scored.

    python -m tests.benchmarks.hearing.both_ears CACHE --set tuning

Prints, for every voice of the set whose whole sessions both ears have heard clean, how many
values of the rows are right with whisper alone, with vosk alone and with both ears (the F1 of
``tests.gold.score``), and how many words are wrong. Held-back sessions are only counted.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from rapidfuzz.distance import Levenshtein

from tests.benchmarks.hearing.cache import Cell, HearingCache
from tests.benchmarks.hearing.clips import GOLD, as_spoken
from tests.benchmarks.hearing.figures import Share
from tests.benchmarks.hearing.opinions import Opinions
from tests.gold.score import Score, Session, read_session, rows_of, score
from voicelog.domain.entry import Status
from voicelog.domain.note import Note, Word
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.hearing.joining import Joiner
from voicelog.hearing.pieces import cut_into_pieces
from voicelog.hearing.readings import Readings
from voicelog.hearing.weights import load_weights
from voicelog.recognition.recogniser import Heard, Opinion
from voicelog.vocabulary import load_vocabulary

OPEN, CLOSED, BOTH = "whisper", "vosk", "both"
_BIASING = {OPEN: "standing", CLOSED: "none"}


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardSession:
    """A gold session in one voice, as both ears heard it.

    Attributes:
        voice: who said it.
        session: what was said, and the rows.
        clips: the clip of each note.
        opened: what whisper heard, note by note.
        closed: what vosk heard.
        opinions: what whisper makes of other words for each note.
    """

    voice: str
    session: Session
    clips: tuple[str, ...]
    opened: tuple[Heard, ...]
    closed: tuple[Heard, ...]
    opinions: tuple[Opinion, ...]

    def readings(self) -> Iterator[tuple[str, Readings]]:
        """Yield each note as it was said, and as both heard it."""
        for said, opened, closed, opinion in zip(
            self.session.notes, self.opened, self.closed, self.opinions, strict=True
        ):
            yield said, Readings(opened.words, closed.words, opinion)

    def joined(self, joiner: Joiner) -> list[Heard]:
        """Return each note as a joiner joins it."""
        return [
            joiner.join(*heard)
            for heard in zip(self.opened, self.closed, self.opinions, strict=True)
        ]


def iter_heard_sessions(cache: HearingCache, set_name: str) -> Iterator[HeardSession]:
    """Yield the sessions of a set that both ears heard to the end, by voice and name."""
    opinions = Opinions(cache)
    voices = sorted({cell.voice for cell in cache.cells() if cell.set_name == set_name})
    for voice in voices:
        heard = {
            engine: {
                clip: one.heard
                for clip, one in cache.heard(
                    Cell(
                        set_name=set_name,
                        voice=voice,
                        condition="clean",
                        engine=engine,
                        biasing=biasing,
                    )
                ).items()
            }
            for engine, biasing in _BIASING.items()
        }
        for path in sorted((GOLD / set_name).glob("*.gold")):
            session = read_session(path)
            clips = tuple(f"{session.name}-{at:03}" for at in range(1, len(session.notes) + 1))
            if all(clip in heard[OPEN] and clip in heard[CLOSED] for clip in clips):
                yield HeardSession(
                    voice=voice,
                    session=session,
                    clips=clips,
                    opened=tuple(heard[OPEN][clip] for clip in clips),
                    closed=tuple(heard[CLOSED][clip] for clip in clips),
                    opinions=tuple(opinions.on(voice, clip) for clip in clips),
                )


def keys_of(words: Iterable[Word]) -> list[str]:
    """Return what words say, however they are written."""
    return [piece.key for piece in cut_into_pieces(tuple(words))]


def keys_said(note: str) -> list[str]:
    """Return what was said in a note."""
    return keys_of(Word(text=text) for text in re.split(r"\s+", as_spoken(note)))


@dataclass(slots=True)
class Tally:
    """What came of some sessions.

    Attributes:
        score: the rows.
        words: how many pieces were said.
        wrong: how many were heard wrong, missed or added.
        queried: how many entries are queried.
        entries: how many entries there are.
    """

    score: Score
    words: int = 0
    wrong: int = 0
    queried: int = 0
    entries: int = 0

    def add(self, session: Session, heard: Iterable[Heard], reader: Reader) -> None:
        """Read what was heard of a session and count."""
        logbook = Logbook(reader)
        for number, (one, said) in enumerate(zip(heard, session.notes, strict=True), start=1):
            logbook.take(Note(number=number, uid=f"note-{number}", text=one.text, words=one.words))
            meant = keys_said(said)
            self.words += len(meant)
            self.wrong += Levenshtein.distance(keys_of(one.words), meant)
        entries = logbook.entries()
        self.entries += len(entries)
        self.queried += sum(entry.status is Status.QUERIED for entry in entries)
        self.score.add(score(session.rows, rows_of(entries), name=session.name))

    def include(self, other: Tally) -> None:
        """Add what came of other sessions."""
        self.score.add(other.score)
        self.words += other.words
        self.wrong += other.wrong
        self.queried += other.queried
        self.entries += other.entries


def compare(
    sessions: Iterable[HeardSession], joiner: Joiner, reader: Reader
) -> Mapping[tuple[str, str], Tally]:
    """Return tallies by voice and ear."""
    tallies: dict[tuple[str, str], Tally] = {}
    for one in sessions:
        ears = (OPEN, one.opened), (CLOSED, one.closed), (BOTH, one.joined(joiner))
        for ear, heard in ears:
            tally = tallies.setdefault((one.voice, ear), Tally(Score()))
            tally.add(one.session, heard, reader)
    return tallies


def print_table(tallies: Mapping[tuple[str, str], Tally]) -> None:
    """Print the tallies as a Markdown table, and the sum of each ear."""
    print("| voice | ear | rows: F1 | entries right in every field | queried | words wrong |")
    print("|---|---|---|---|---|---|")
    sums: dict[tuple[str, str], Tally] = {}
    for (voice, ear), one in tallies.items():
        _print_row(voice, ear, one)
        sums.setdefault(("all", ear), Tally(Score())).include(one)
    for (voice, ear), one in sums.items():
        _print_row(voice, ear, one)


def _print_row(voice: str, ear: str, one: Tally) -> None:
    right = Share(count=one.score.exact, of=one.score.entries)
    queried = Share(count=one.queried, of=one.entries)
    wrong = Share(count=one.wrong, of=one.words)
    print(f"| {voice} | {ear} | {one.score.figures()[2]:.4f} | {right} | {queried} | {wrong} |")


def main() -> None:
    """Print the table of a set."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    parser.add_argument("--set", dest="set_name", default="tuning", choices=["tuning", "held_back"])
    given = parser.parse_args()
    reader = Reader(load_vocabulary(), ReadingOptions())
    sessions = iter_heard_sessions(HearingCache(given.cache), given.set_name)
    print_table(compare(sessions, Joiner(reader, load_weights()), reader))


if __name__ == "__main__":
    main()
