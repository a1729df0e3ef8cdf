"""The review pages, and the reviewer behind every other way to review."""

from __future__ import annotations

import contextlib
import functools
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from voicelog.errors import LogBusy
from voicelog.extraction.reader import Reader
from voicelog.plug_ins import Group, find_plug_ins
from voicelog.recognition.recogniser import Recogniser
from voicelog.review.reviewer import Reviewer
from voicelog.settings import Settings
from voicelog.store.folder import require_log_folder
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import Vocabulary

if TYPE_CHECKING:
    from fastapi import FastAPI
from voicelog.wiring import MADE_BY
from voicelog.wiring.hearing import installed_models, make_recogniser
from voicelog.wiring.reading import (
    KEPT_WITH_THE_LOG,
    make_reader,
    make_reading_options,
    make_vocabulary,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewPages:
    """The review pages, ready to be served.

    Attributes:
        app: the application.
        address: what to open, with the token in it; good once.
        warm_up: makes ready what takes a moment, so that the first edit needn't wait for it.
    """

    app: FastAPI
    address: str
    warm_up: Callable[[], object]


def make_review(folder: Path, settings: Settings, *, port: int, reviewer: str = "") -> ReviewPages:
    """Return the pages on which a log is reviewed.

    Args:
        folder: the log's folder.
        settings: vocabulary, spelling and how typed values are read.
        port: the port of this machine on which they will be served.
        reviewer: who reviews, or empty when the page is to ask.

    Raises:
        UsageError: there is no log at this place.
        StoreError: it can't be read, or was made by a later version.
        VocabularyError: a term file is wrong.
    """
    # Only here, because they bring a web framework.
    from voicelog.review.pages.app import make_app  # noqa: PLC0415
    from voicelog.review.pages.desk import ReviewDesk, read_uid  # noqa: PLC0415
    from voicelog.review.pages.fields import spelling  # noqa: PLC0415
    from voicelog.review.pages.gate import Gate  # noqa: PLC0415
    from voicelog.review.pages.late import once  # noqa: PLC0415
    from voicelog.review.pages.second_hearing import SecondHearing  # noqa: PLC0415
    from voicelog.review.readings import Readings  # noqa: PLC0415

    _bring_up_to_date(folder)
    vocabulary = make_vocabulary(settings)
    wanted = {name: getattr(settings, name) for name in KEPT_WITH_THE_LOG}

    def make_reader_of_log() -> Reader:
        with Log.open(folder) as log:
            return make_reader(vocabulary, settings, log.facts().get("reading", wanted), log)

    get_reader = once(make_reader_of_log)
    desk = ReviewDesk(
        folder=folder,
        uid=read_uid(folder),
        vocabulary=vocabulary,
        get_reader=get_reader,
        get_readings=once(lambda: Readings(get_reader())),
        made_by=MADE_BY,
        spell=spelling(settings.spelling),
        second=SecondHearing(
            recognisers=_make_recognisers(settings, lambda: get_reader().vocabulary)
        ),
        sample_percent=settings.blind_sample_percent,
    )
    gate = Gate(port=port, reviewer=reviewer)
    return ReviewPages(app=make_app(desk, gate), address=gate.address, warm_up=desk.get_readings)


def make_reviewer(folder: Path, settings: Settings, *, by: str) -> Reviewer:
    """Return who reviews a log, reading what is typed as the log's notes are read.

    Raises:
        UsageError: there is no log at this place.
        StoreError: it can't be read.
    """
    vocabulary = make_vocabulary(settings)
    with Log.open(folder) as log:
        kept = log.facts().get("reading") or {
            name: getattr(settings, name) for name in KEPT_WITH_THE_LOG
        }
    reader = Reader(vocabulary, make_reading_options(settings, kept))
    return Reviewer(folder, reader, by=by, made_by=MADE_BY)


def _make_recognisers(
    settings: Settings, get_vocabulary: Callable[[], Vocabulary]
) -> dict[str, Callable[[], Recogniser]]:
    """Return, by engine, what makes the recogniser of each that has a model here or is a plug-in.

    Args:
        settings: threads and models.
        get_vocabulary: gives the terms, and what the log's corrections have taught.
    """
    from voicelog.review.pages.late import once  # noqa: PLC0415 - as in make_review

    there = {model.engine for model in installed_models(settings)}
    ours = (engine for engine in ("whisper", "vosk") if engine in there)
    engines = (*ours, *(plug_in.name for plug_in in find_plug_ins(Group.ENGINES)))

    def make(engine: str) -> Recogniser:
        return make_recogniser(replace(settings, engine=engine), get_vocabulary())

    return {engine: once(functools.partial(make, engine)) for engine in engines}


def _bring_up_to_date(folder: Path) -> None:
    """Give a log of an earlier version today's tables; one that is being written has them."""
    require_log_folder(folder)
    with contextlib.suppress(LogBusy), WritableLog.open_to_write(folder, made_by=MADE_BY):
        pass
