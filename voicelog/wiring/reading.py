"""How notes are read: by the settings, and as each log was begun."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.settings import Settings
from voicelog.store.log import Log
from voicelog.vocabulary import Vocabulary, load_vocabulary
from voicelog.vocabulary.loading import load_shipped_lists
from voicelog.vocabulary.term_lists import TermList
from voicelog.wiring.plug_ins import plug_in_term_lists

KEPT_WITH_THE_LOG = ("default_unit", "default_century", "day_first", "first_page")


def make_vocabulary(settings: Settings) -> Vocabulary:
    """Return voicelog's vocabulary together with that of plug-ins and the repository's own."""
    return load_vocabulary(*settings.vocabulary_files, others=plug_in_term_lists())


def given_term_lists() -> tuple[TermList, ...]:
    """Return the term lists that a repository's own ones are added to."""
    return (*load_shipped_lists(), *plug_in_term_lists())


def make_reader(
    vocabulary: Vocabulary, settings: Settings, kept: Mapping[str, Any], log: Log
) -> Reader:
    """Return a reader for a log: as it was begun, and with what its corrections taught."""
    lessons = tuple(log.iter_lessons())
    learnt = tuple(one.meant for one in reversed(lessons) if one.until_note is None)
    return Reader(replace(vocabulary, learnt=learnt), make_reading_options(settings, kept), lessons)


def make_reading_options(settings: Settings, kept: Mapping[str, Any]) -> ReadingOptions:
    """Return how notes are read: as the log was begun, else as the settings say."""
    return ReadingOptions(
        default_unit=kept["default_unit"],
        default_century=kept["default_century"],
        day_first=kept["day_first"],
        first_page=kept["first_page"],
        accession_patterns=settings.accession_patterns,
        known_accessions=settings.known_accessions,
        query_below=settings.query_below,
    )


def tell_kept(kept: Mapping[str, Any], wanted: Mapping[str, Any]) -> tuple[str, ...]:
    """Return a sentence about each setting that the log was begun with otherwise, and keeps."""
    return tuple(
        f"This log was begun with {name} = {kept[name]!r} and keeps it; "
        f"{wanted[name]!r} holds for logs begun from now on."
        for name in KEPT_WITH_THE_LOG
        if kept[name] != wanted[name]
    )
