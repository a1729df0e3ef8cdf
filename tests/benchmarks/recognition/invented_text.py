"""How much text comes out of sound in which nobody speaks.

    python -m tests.benchmarks.recognition.invented_text [MINUTES]

Three counts: what the speech detector lets through, what Whisper writes on noise that
the detector is made to vouch for, and what reaches the log when both work together.
"""

from __future__ import annotations

import sys
import zlib

from tests.recognition.conftest import HOT_WORDS
from tests.recognition.noises import KINDS, LEVELS_DB, make_noise
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.recogniser import Segment, Stretch
from voicelog.recognition.segments import NoteCutter, SegmentOptions

WINDOW_S = 5.0


def main(minutes: float) -> None:
    """Print the counts, kind by kind."""
    whisper = WhisperRecogniser(WhisperOptions(hot_words=HOT_WORDS))
    seconds = minutes * 60 / len(KINDS) / len(LEVELS_DB)
    notes = vouched = logged = windows = 0
    for kind in KINDS:
        for level_db in LEVELS_DB:
            seed = zlib.crc32(f"{kind} {level_db}".encode())
            sound = make_noise(kind, seconds=seconds, level_db=level_db, seed=seed)
            cutter = NoteCutter(SegmentOptions())
            for segment in [*cutter.push(sound), *cutter.finish()]:
                notes += 1
                words = whisper.recognise(segment).text
                logged += bool(words)
                print(f"{kind}, {level_db} dB: taken for speech, logged as {words!r}")
            window = sound[: round(WINDOW_S * 16_000)]
            speech = (Stretch(start_s=0.0, end_s=WINDOW_S),)
            heard = whisper.recognise(
                Segment(samples=window, start_s=0.0, end_s=WINDOW_S, speech=speech)
            )
            windows += 1
            vouched += bool(heard.words)
            if heard.words:
                print(f"{kind}, {level_db} dB: vouched for, Whisper wrote {heard.text!r}")
    print(
        f"{minutes:g} minutes of {len(KINDS)} kinds of noise at {LEVELS_DB} dB: the detector took "
        f"{notes} stretches for speech, {logged} of which reached the log as words; of "
        f"{windows} windows of {WINDOW_S:g} s vouched for as speech, Whisper kept words in "
        f"{vouched}."
    )


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 48.0)
