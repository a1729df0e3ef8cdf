"""Loading the vocabulary: voicelog's own lists, then the repository's."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from importlib import resources
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from voicelog.vocabulary.combining import combine, find_problems
from voicelog.vocabulary.concepts import Caution, Vocabulary
from voicelog.vocabulary.term_files import (
    SUFFIX,
    find_term_files,
    parse_term_file,
    read_term_file,
)
from voicelog.vocabulary.term_lists import TermList, refuse

_FOLDER = resources.files("voicelog.vocabulary")


class _CautionRow(BaseModel):
    model_config = ConfigDict(extra="forbid")

    id: str
    title: str
    wording: str
    restricts_access: bool = False
    calls_for_isolation: bool = False


class _CautionsFile(BaseModel):
    model_config = ConfigDict(extra="forbid")

    closing: str
    caution: list[_CautionRow]


def load_vocabulary(*own_paths: Path, others: Sequence[TermList] = ()) -> Vocabulary:
    """Return voicelog's vocabulary with the repository's files added.

    Args:
        own_paths: term files of the repository, or folders of them.
        others: term lists that come between ours and the repository's.

    Raises:
        VocabularyError: a file can't be read, one wording stands for two concepts of a field,
            or a caution is unknown; what is wrong is named with its file.
    """
    lists = (*load_shipped_lists(), *others, *read_lists(own_paths))
    cautions = load_cautions()
    refuse(find_problems(lists, cautions=cautions))
    return Vocabulary(concepts=combine(lists), cautions=cautions)


def load_shipped_lists() -> tuple[TermList, ...]:
    """Return the term lists that come with voicelog."""
    files = sorted(
        (item for item in (_FOLDER / "terms").iterdir() if item.name.endswith(SUFFIX)),
        key=lambda item: item.name,
    )
    return tuple(
        parse_term_file(item.read_text(encoding="utf-8"), origin=f"voicelog's {item.name}")
        for item in files
    )


def read_lists(paths: Sequence[Path]) -> tuple[TermList, ...]:
    """Return the term lists of a repository's files and folders."""
    return tuple(read_term_file(path) for path in find_term_files(paths))


def load_closing() -> str:
    """Return the sentence that ends every caution."""
    return _load_cautions_file().closing


def load_cautions() -> Mapping[str, Caution]:
    """Return the cautions by their ids."""
    file = _load_cautions_file()
    return {
        row.id: Caution(
            id=row.id,
            title=row.title,
            wording=f"{row.wording} {file.closing}",
            restricts_access=row.restricts_access,
            calls_for_isolation=row.calls_for_isolation,
        )
        for row in file.caution
    }


def _load_cautions_file() -> _CautionsFile:
    text = (_FOLDER / "cautions.toml").read_text(encoding="utf-8")
    return _CautionsFile.model_validate(tomllib.loads(text))
