"""How many spoken strings of letters and numbers Whisper hears exactly.

    python -m tests.benchmarks.recognition.an4_accuracy FOLDER

FOLDER holds AN4 in the database's own form: transcription.txt and flac/.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.recognition.conftest import HOT_WORDS
from tests.recognition.spelled_strings import read_clips, write_alike
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.segments import iter_segments


def main(folder: Path) -> None:
    """Print every string that was misheard, then the count."""
    whisper = WhisperRecogniser(WhisperOptions(hot_words=HOT_WORDS))
    clips = read_clips(folder)
    right = among = 0
    for path, said in clips:
        heard = [whisper.recognise(segment) for segment in iter_segments(path)]
        text = " ".join(part.text for part in heard)
        others = heard[0].alternatives if len(heard) == 1 else ()
        if write_alike(text) == write_alike(said):
            right += 1
        else:
            found = write_alike(said) in map(write_alike, others)
            among += found
            print(f"{path.stem:16} said {said!r}, heard {text!r}{' (right among others)' * found}")
    print(
        f"{right} of {len(clips)} strings exact ({right / len(clips):.1%}); "
        f"{right + among} with the other readings; {whisper.model}"
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
