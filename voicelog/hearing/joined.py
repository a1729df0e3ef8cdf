"""Two recognisers as one: both hear a note at the same time, and their words are joined."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from voicelog.hearing.joining import Joiner
from voicelog.recognition.recogniser import Heard, Opinionated, Recogniser, Segment, Stretch
from voicelog.recognition.segments import locate_speech


class JoinedRecogniser:
    """An open ear and a closed one, listening together.

    The closed ear listens in a thread of its own: both libraries work outside of Python's lock,
    so that on two cores a note takes little longer than the slower of them.

    Args:
        opened: writes down anything that is said.
        closed: knows a list of words and how they sound.
        joiner: joins what they heard.
    """

    engine = "both"

    def __init__(self, opened: Recogniser, closed: Recogniser, joiner: Joiner) -> None:
        self._opened = opened
        self._closed = closed
        self._joiner = joiner
        self._beside = ThreadPoolExecutor(max_workers=1, thread_name_prefix="closed ear")

    @property
    def model(self) -> str:
        """Both models."""
        return f"{self._opened.model} + {self._closed.model}"

    def recognise(self, segment: Segment) -> Heard:
        """Return the words said in the segment; nothing where nobody spoke."""
        segment = _with_speech(segment)
        closed = self._beside.submit(self._closed.recognise, segment)
        opinion = None
        if isinstance(self._opened, Opinionated):
            opened, opinion = self._opened.recognise_and_judge(segment)
        else:
            opened = self._opened.recognise(segment)
        return self._joiner.join(opened, closed.result(), opinion)


def _with_speech(segment: Segment) -> Segment:
    """Look for speech once, for both."""
    if segment.speech is not None:
        return segment
    speech = tuple(
        Stretch(start_s=part.start_s + segment.start_s, end_s=part.end_s + segment.start_s)
        for part in locate_speech(segment)
    )
    return replace(segment, speech=speech)
