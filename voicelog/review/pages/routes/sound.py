"""Hearing notes: the clip itself, and the picture of it with a tick for every word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Header, Path, Query, Request
from fastapi.responses import Response
from starlette.exceptions import HTTPException

from voicelog.domain.note import Note
from voicelog.review.pages.byte_ranges import NoSuchRange, parse_range
from voicelog.review.pages.clips import Clip
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.filling import Pages
from voicelog.review.pages.frame import make_frame
from voicelog.review.pages.second_hearing import compare_words

_NOT_FOUND = 404
_NOT_SATISFIABLE = 416

RangeHeader = Annotated[str | None, Header(alias="range", max_length=200)]
NoteNumber = Annotated[int, Path(ge=1, le=2**53)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A word in the picture: where it stands, in thousandths of the clip."""

    text: str
    start: int
    width: int
    start_s: float
    end_s: float


def make_router(desk: ReviewDesk, pages: Pages) -> APIRouter:
    """Return the addresses of the log's sound."""
    router = APIRouter()

    @router.get("/notes/{number}/sound.wav")
    def sound(number: NoteNumber, range_: RangeHeader = None) -> Response:
        """Send a note's clip, or the part of it that the player asks for."""
        _, clip = _find(desk, number)
        size = len(clip.wav)
        headers = {"accept-ranges": "bytes"}
        try:
            part = parse_range(range_, size)
        except NoSuchRange:
            headers["content-range"] = f"bytes */{size}"
            return Response(status_code=_NOT_SATISFIABLE, headers=headers)
        if part is None:
            return Response(clip.wav, media_type="audio/wav", headers=headers)
        headers["content-range"] = part.content_range(size)
        return Response(
            clip.wav[part.first : part.end],
            status_code=206,
            media_type="audio/wav",
            headers=headers,
        )

    @router.get("/notes/{number}/hearing")
    def hearing(request: Request, number: NoteNumber) -> Response:
        """Show how a note sounds: its waveform, its words, where they begin and end."""
        del request
        note, clip = _find(desk, number)
        return pages.fill(
            "hearing.html",
            note=note,
            clip=clip,
            ticks=_make_ticks(note, clip),
            start=_thousandths(note.start_s or 0.0, clip),
            end=_thousandths(note.end_s or 0.0, clip),
            others=desk.second.others(note.engine),
        )

    @router.get("/notes/{number}/again")
    def again(
        request: Request, number: NoteNumber, engine: Annotated[str, Query(max_length=100)]
    ) -> Response:
        """Hear a note with another recogniser and show what it hears otherwise."""
        note, _ = _find(desk, number)
        if engine not in desk.second.others(note.engine):
            raise HTTPException(_NOT_FOUND)
        with desk.reading() as log:
            audio_folder = log.audio_folder
        heard = desk.second.hear(engine, audio_folder, note)
        return pages.fill(
            "again.html",
            frame=make_frame(request),
            note=note,
            engine=engine,
            differences=compare_words(note.text, heard),
        )

    return router


def _find(desk: ReviewDesk, number: int) -> tuple[Note, Clip]:
    with desk.reading() as log:
        note = log.read_notes([number]).get(number)
        if note is None:
            raise HTTPException(_NOT_FOUND)
        if note.recording is not None:
            # Says so where the sound was removed; a clip that was cut before isn't played then.
            log.find_sound(note.recording)
        return note, desk.clips.find(log.audio_folder, note)


def _make_ticks(note: Note, clip: Clip) -> tuple[Tick, ...]:
    ticks: list[Tick] = []
    for word in note.words:
        if word.start_s is None or word.end_s is None:
            continue
        start = _thousandths(word.start_s, clip)
        ticks.append(
            Tick(
                text=word.text,
                start=start,
                width=max(1, _thousandths(word.end_s, clip) - start),
                start_s=word.start_s,
                end_s=word.end_s,
            )
        )
    return tuple(ticks)


def _thousandths(moment_s: float, clip: Clip) -> int:
    if not clip.duration_s:
        return 0
    return min(1000, max(0, round(1000 * (moment_s - clip.begins_s) / clip.duration_s)))
