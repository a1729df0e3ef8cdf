"""A log opened for writing with everything that writes in it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.session.bringing_in.bag_folder import open_bag
from voicelog.session.bringing_in.bringing import BroughtIn, bring_in, foresee, tidy_name
from voicelog.session.bringing_in.guest_log import read_guest
from voicelog.session.rereading import Rereading, reread
from voicelog.session.scribe import Scribe
from voicelog.settings import Settings
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import Vocabulary
from voicelog.wiring import MADE_BY
from voicelog.wiring.reading import KEPT_WITH_THE_LOG, make_reader, make_vocabulary, tell_kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A log open for writing, and the scribe who writes in it.

    Attributes:
        log: the log.
        scribe: takes notes down in it.
        logbook: knows where the handler is and what every note became.
        reader: reads the notes.
        vocabulary: the terms it is read with.
        rereading: which earlier entries came out differently than they were stored.
        kept: sentences about settings that differ from those the log was begun with.
    """

    log: WritableLog
    scribe: Scribe
    logbook: Logbook
    reader: Reader
    vocabulary: Vocabulary
    rereading: Rereading
    kept: tuple[str, ...]


@contextmanager
def open_bench(folder: Path, settings: Settings, *, afresh: bool = False) -> Iterator[Bench]:
    """Open a log for writing, beginning it where needed, and go on with its notes.

    Args:
        folder: the log's folder.
        settings: how it is read.
        afresh: whether to read all notes again in any case.

    Raises:
        UsageError: the folder holds something else.
        StoreError: the log can't be written, or another process writes to it.
        VocabularyError: a term file is wrong.
    """
    vocabulary = make_vocabulary(settings)
    wanted = {name: getattr(settings, name) for name in KEPT_WITH_THE_LOG}
    with WritableLog.open_to_write(folder, made_by=MADE_BY, facts={"reading": wanted}) as log:
        kept = log.facts()["reading"]
        reader = make_reader(vocabulary, settings, kept, log)
        logbook = Logbook(reader)
        scribe = Scribe(log, logbook)
        rereading = scribe.catch_up(reason=f"read again by {MADE_BY}", afresh=afresh)
        yield Bench(
            log=log,
            scribe=scribe,
            logbook=logbook,
            reader=reader,
            vocabulary=reader.vocabulary,
            rereading=rereading,
            kept=tell_kept(kept, wanted),
        )


def bring_in_bag(folder: Path, source: Path, settings: Settings) -> BroughtIn:
    """Bring the log of a bag into ours, beginning ours where there is none yet.

    Raises:
        BagRefused: the bag is damaged, strange or not of a log; nothing was written.
        UsageError: the folder holds something else.
        StoreError: the log can't be written, or another process writes to it.
    """
    with open_bag(source) as bag:
        guest = read_guest(bag)
        with open_bench(folder, settings) as bench:
            return bring_in(guest, bench.log, bench.vocabulary, source=tidy_name(source))


def foresee_bag(folder: Path, source: Path) -> BroughtIn:
    """Return what bringing in a bag would come to; nothing is written.

    Raises:
        BagRefused: the bag is damaged, strange or not of a log.
        UsageError: there is no log at this place.
        StoreError: it can't be read.
    """
    with open_bag(source) as bag, Log.open(folder) as log:
        return foresee(read_guest(bag), log, source=tidy_name(source))


def try_rereading(folder: Path, settings: Settings) -> tuple[Rereading, tuple[str, ...]]:
    """Find out what reading a log again would change; nothing is written.

    Returns:
        what would change, and sentences about settings that the log keeps.

    Raises:
        UsageError: there is no log at this place.
        StoreError: it can't be read.
        VocabularyError: a term file is wrong.
    """
    vocabulary = make_vocabulary(settings)
    wanted = {name: getattr(settings, name) for name in KEPT_WITH_THE_LOG}
    with Log.open(folder) as log:
        kept = log.facts().get("reading", wanted)
        rereading = reread(log, Logbook(make_reader(vocabulary, settings, kept, log)))
    return rereading, tell_kept(kept, wanted)
