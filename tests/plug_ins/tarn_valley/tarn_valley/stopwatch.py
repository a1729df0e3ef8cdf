"""A recogniser that only hears how long somebody spoke."""

from voicelog.domain.note import Word
from voicelog.recognition.recogniser import EngineOptions, Heard, Segment, make_heard


class Stopwatch:
    engine = "stopwatch"
    model = "none"

    def __init__(self, options: EngineOptions) -> None:
        self.threads = options.threads

    def recognise(self, segment: Segment) -> Heard:
        said = f"remark {segment.end_s - segment.start_s:.0f} seconds"
        when = {"start_s": segment.start_s, "end_s": segment.end_s}
        return make_heard([Word(text=text, confidence=1.0, **when) for text in said.split()])
