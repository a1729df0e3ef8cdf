"""How right the rows are when the notes were spoken and heard, not typed.

    pip install '.[demo-voice]'
    python -m tests.benchmarks.reader.heard_sessions tests/gold/held_back/eight_recogniser.gold ...

Each note of a gold session is spoken by the synthetic voice of hibari-tts, heard by the
embedded recogniser with the vocabulary as hot words, and read; the rows are scored as
``tests.gold.score`` does. One synthetic voice in a quiet room flatters the recogniser:
the figure compares versions, it does not promise anything about a bench.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from hibari import SAMPLE_RATE as VOICE_RATE_HZ  # type: ignore[import-untyped]
from hibari import Hibari

from tests.benchmarks.hearing.saying import as_spoken
from tests.gold.score import Score, read_session, rows_of, score
from voicelog.domain.note import Note
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.recogniser import Segment
from voicelog.vocabulary import load_vocabulary

HEARD_RATE_HZ = 16_000


def resample(sound: np.ndarray) -> np.ndarray:
    """Return the voice's sound at 16 kHz, by linear interpolation."""
    duration_s = len(sound) / VOICE_RATE_HZ
    wanted = np.arange(0, duration_s, 1 / HEARD_RATE_HZ)
    have = np.arange(len(sound)) / VOICE_RATE_HZ
    return np.interp(wanted, have, sound).astype(np.float32)


def main() -> None:
    """Speak, hear, read, score."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--show-misses", action="store_true")
    parser.add_argument("--show-heard", action="store_true")
    given = parser.parse_args()
    vocabulary = load_vocabulary()
    reader = Reader(vocabulary, ReadingOptions())
    ear = WhisperRecogniser(WhisperOptions(hot_words=vocabulary.hot_words()))
    voice = Hibari()
    silence = np.zeros(HEARD_RATE_HZ // 3, dtype=np.float32)
    total = Score()
    for path in given.files:
        session = read_session(path)
        logbook = Logbook(reader)
        for number, text in enumerate(session.notes, start=1):
            sound = np.concatenate(
                [silence, resample(np.asarray(voice(as_spoken(text), seed=0))), silence]
            )
            segment = Segment(samples=sound, start_s=0.0, end_s=len(sound) / HEARD_RATE_HZ)
            heard = ear.recognise(segment)
            if given.show_heard:
                print(f"  {text}\n    {heard.text}")
            logbook.take(
                Note(number=number, uid=f"note-{number}", text=heard.text, engine="whisper")
            )
        one = score(session.rows, rows_of(logbook.entries()), name=session.name)
        total.add(one)
        print(f"{session.name:20} entries {one.entries:4}  F1 {one.figures()[2]:.4f}")
    precision, recall, f1 = total.figures()
    print(f"all: precision {precision:.4f}  recall {recall:.4f}  F1 {f1:.4f}")
    if given.show_misses:
        print("\n".join(total.misses))


if __name__ == "__main__":
    main()
