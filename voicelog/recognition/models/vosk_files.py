"""The files of a vosk model, and whether they are whole.

The Kaldi library behind vosk ends the whole process over some damaged files (measured:
an emptied conf/model.conf aborts it, a shortened graph/disambig_tid.int crashes it).
So the folder is looked over before the library sees it.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from voicelog.errors import ModelDamaged, ModelMissing

ACOUSTIC_MODEL = "am/final.mdl"
CHECKSUMS = "SHA256SUMS"
"""A list of the folder's files in the format of the sha256sum command."""

_NEEDED = (ACOUSTIC_MODEL, "conf/mfcc.conf", "conf/model.conf")
_FIXED_GRAPH = "graph/HCLG.fst"
_OPEN_GRAPH = ("graph/HCLr.fst", "graph/Gr.fst", "graph/disambig_tid.int")
_IVECTOR = (
    "ivector/final.ie",
    "ivector/final.dubm",
    "ivector/final.mat",
    "ivector/global_cmvn.stats",
    "ivector/online_cmvn.conf",
    "ivector/splice.conf",
)
_KALDI_BINARY = b"\0B"
_FST_MAGIC = bytes.fromhex("d6fdb27e")  # 2125659606, little-endian, as OpenFst writes it

_TRIAL_TIMEOUT_S = 300
_TRIAL = """
import sys, vosk
vosk.SetLogLevel(-1)
recogniser = vosk.KaldiRecognizer(vosk.Model(sys.argv[1]), 16000)
recogniser.AcceptWaveform(bytes(16000))
recogniser.FinalResult()
"""


_WORDS = "graph/words.txt"

OWN_WORDS = "own_words.txt"
"""The names that a model was given by its repository, as people write them, one in each line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VoskFiles:
    """A vosk model whose files have been looked over.

    Attributes:
        folder: where the files are.
        name: what the model is called.
        sha256: the checksum of its acoustic model, in hexadecimal.
        takes_word_list: whether it can be held to a list of words.
    """

    folder: Path
    name: str
    sha256: str
    takes_word_list: bool


def check_vosk_files(folder: Path) -> VoskFiles:
    """Return the model in the folder once its files have been found whole.

    Where the folder lists its checksums, they decide. Elsewhere the model is first
    loaded in a process of its own, which may crash without harm.

    Raises:
        ModelMissing: there is no such folder.
        ModelDamaged: a file is missing, cut short or not what it should be.
    """
    if not folder.is_dir():
        raise ModelMissing(
            f"There is no vosk model at {folder}; name a folder that holds {ACOUSTIC_MODEL}, "
            "or fetch a model."
        )
    _check_layout(folder)
    if (folder / CHECKSUMS).is_file():
        _check_sums(folder)
    else:
        _try_loading(folder)
    return VoskFiles(
        folder=folder,
        name=folder.resolve().name,
        sha256=_hash(folder / ACOUSTIC_MODEL, folder=folder),
        takes_word_list=all((folder / name).is_file() for name in _OPEN_GRAPH),
    )


def read_vosk_words(folder: Path) -> tuple[str, ...]:
    """Return the words that a model knows, without the signs that stand for no word.

    Raises:
        ModelDamaged: its list of words can't be read.
    """
    try:
        lines = (folder / _WORDS).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as failure:
        raise _damaged(folder, f"{_WORDS} can't be read") from failure
    words = (line.split()[0] for line in lines if line.strip())
    return tuple(word for word in words if word[0].isalpha())


def read_own_words(folder: Path) -> tuple[str, ...]:
    """Return the names that a model was given by its repository; most models have none.

    Raises:
        ModelDamaged: their list can't be read.
    """
    if not (folder / OWN_WORDS).is_file():
        return ()
    try:
        return tuple((folder / OWN_WORDS).read_text(encoding="utf-8").splitlines())
    except (OSError, UnicodeDecodeError) as failure:
        raise _damaged(folder, f"{OWN_WORDS} can't be read") from failure


def write_checksums(folder: Path) -> None:
    """Write down the checksum of every file, so that later damage shows."""
    files = sorted(path for path in folder.rglob("*") if path.is_file() and path.name != CHECKSUMS)
    lines = [
        f"{_hash(path, folder=folder)}  {path.relative_to(folder).as_posix()}\n" for path in files
    ]
    (folder / CHECKSUMS).write_text("".join(lines), encoding="utf-8")


def _check_layout(folder: Path) -> None:
    has_fixed_graph = (folder / _FIXED_GRAPH).is_file()
    needed = [*_NEEDED, *([] if has_fixed_graph else _OPEN_GRAPH)]
    if (folder / "ivector").is_dir():
        needed.extend(_IVECTOR)
    for name in needed:
        path = folder / name
        if not path.is_file():
            raise _damaged(folder, f"{name} is missing")
        if not path.stat().st_size:
            raise _damaged(folder, f"{name} is empty")
    _check_beginning(folder, ACOUSTIC_MODEL, _KALDI_BINARY)
    for name in (_FIXED_GRAPH,) if has_fixed_graph else _OPEN_GRAPH[:2]:
        _check_beginning(folder, name, _FST_MAGIC)


def _check_beginning(folder: Path, name: str, expected: bytes) -> None:
    try:
        with (folder / name).open("rb") as file:
            beginning = file.read(len(expected))
    except OSError as error:
        raise _damaged(folder, f"{name} can't be read") from error
    if beginning != expected:
        raise _damaged(folder, f"{name} is not a file of that kind")


def _check_sums(folder: Path) -> None:
    try:
        lines = (folder / CHECKSUMS).read_text(encoding="utf-8").splitlines()
    except (OSError, ValueError) as error:
        raise _damaged(folder, f"{CHECKSUMS} can't be read") from error
    for line in lines:
        expected, _, name = line.partition("  ")
        path = folder / name
        if not path.is_file():
            raise _damaged(folder, f"{name} is missing")
        if _hash(path, folder=folder) != expected:
            raise _damaged(folder, f"{name} has changed")


def _try_loading(folder: Path) -> None:
    try:
        trial = subprocess.run(  # noqa: S603  (our own interpreter, our own program)
            [sys.executable, "-I", "-c", _TRIAL, str(folder)],
            check=False,
            capture_output=True,
            timeout=_TRIAL_TIMEOUT_S,
        )
    except subprocess.TimeoutExpired as error:
        raise _damaged(folder, f"it did not load within {_TRIAL_TIMEOUT_S} s") from error
    if trial.returncode:
        raise _damaged(folder, "the recogniser can't load it")


def _hash(path: Path, *, folder: Path) -> str:
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise _damaged(folder, f"{path.relative_to(folder)} can't be read") from error


def _damaged(folder: Path, what: str) -> ModelDamaged:
    return ModelDamaged(
        f"The vosk model at {folder} is damaged: {what}; fetch or copy the model again."
    )
