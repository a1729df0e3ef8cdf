"""Whisper on letters and numbers said by people: forty clips of CMU's AN4 database.

What was said is the database's own transcription (tests/reference/an4, with its
licence). The trial vosk model was trained on these clips: nothing is claimed for it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from voicelog.recognition.engines.whisper import WhisperRecogniser
from voicelog.recognition.segments import iter_segments

from .spelled_strings import read_clips, write_alike

FOLDER = Path(__file__).parents[1] / "reference" / "an4"

# Measured: 39 of 40 (python -m tests.benchmarks.recognition.an4_accuracy tests/reference/an4).
# Other processors round differently and may tip a clip or two.
FLOOR = 36


def test_most_strings_are_heard_exactly(whisper: WhisperRecogniser) -> None:
    """Every letter and every digit right: the whole string, or it doesn't count."""
    clips = read_clips(FOLDER)
    assert len(clips) == 40
    wrong = []
    for path, said in clips:
        heard = " ".join(whisper.recognise(segment).text for segment in iter_segments(path))
        if write_alike(heard) != write_alike(said):
            wrong.append((path.stem, said, heard))
    assert len(clips) - len(wrong) >= FLOOR, wrong


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("A A I L ZERO", "AAIL0"),
        ("V A D R THIRTY ONE OH SEVEN", "VADR3107"),
        ("J C H E Q FIFTY EIGHT THOUSAND NINE THIRTY NINE", "JCHEQ5800939"),
        ("V Q D B FORTY NINE HUNDRED", "VQDB4900"),
        ("A G L G A SIX HUNDRED FORTY NINE", "AGLGA649"),
        ("S F Q Q K SIX THOUSAND EIGHT HUNDRED AND EIGHTY ONE", "SFQQK6881"),
        ("R E W Y EIGHT FIVE SIX", "REWY856"),
        ("r e w y 856", "REWY856"),
        ("H, Q, F, X, 4,386.", "HQFX4386"),
    ],
)
def test_the_measure_itself_is_right(said: str, written: str) -> None:
    """Strings worked out by hand."""
    assert write_alike(said) == written


def test_the_measure_tells_strings_apart() -> None:
    """It forgives spelling, not mishearing."""
    assert write_alike("E M B Z 686") != write_alike("E M B G 686")
    assert write_alike("F Y Z 0 222") != write_alike("F Y 0 222")
