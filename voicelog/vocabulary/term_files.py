"""Term files: a field and its concepts, as TOML."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from voicelog.errors import VocabularyError
from voicelog.vocabulary.concepts import Concept, TermField
from voicelog.vocabulary.term_lists import Problem, TermList, parse_concept

SUFFIX = ".toml"


def find_term_files(paths: Iterable[Path]) -> tuple[Path, ...]:
    """Return the term files among files and folders, a folder's in the order of their names."""
    found: dict[Path, None] = {}
    for path in paths:
        inside = sorted(path.glob(f"*{SUFFIX}")) if path.is_dir() else [path]
        found.update(dict.fromkeys(inside))
    return tuple(found)


def read_term_file(path: Path) -> TermList:
    """Return the concepts of one term file; what can't be read is among its problems."""
    try:
        text = read_text(path)
    except VocabularyError as failure:
        problem = Problem(origin=str(path), message=str(failure))
        return TermList(origin=str(path), problems=(problem,))
    return parse_term_file(text, origin=str(path))


def read_text(path: Path) -> str:
    """Return the text of a file.

    Raises:
        VocabularyError: it can't be read; the sentence says why, the caller says which.
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as failure:
        raise VocabularyError("is not UTF-8 text; save it as UTF-8.") from failure
    except OSError as failure:
        reason = (failure.strerror or "unknown reason").lower()
        raise VocabularyError(f"can't be read ({reason}); name a file of terms.") from failure


def parse_term_file(text: str, *, origin: str) -> TermList:
    r"""Return the concepts of a term file's text; what is no concept is among its problems.

    >>> found = parse_term_file('field = "overlay"\nconcept = [{id = "net"}]', origin="o.toml")
    >>> str(found.problems[0])
    "o.toml: 'net': term is missing; add it."
    """
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as failure:
        message = f"is not valid TOML: {failure}; correct that line."
        return TermList(origin=origin, problems=(Problem(origin=origin, message=message),))
    problems = [Problem(origin=origin, message=sentence) for sentence in _find_strays(data)]
    name = data.get("field")
    if name not in list(TermField):
        message = f"field = {name!r} is no field; it is one of {', '.join(TermField)}."
        problems.append(Problem(origin=origin, message=message))
        return TermList(origin=origin, problems=tuple(problems))
    field = TermField(str(name))
    concepts: list[Concept] = []
    rows = data.get("concept", [])
    for row in rows if isinstance(rows, list) else []:
        if not isinstance(row, dict):
            continue
        read = parse_concept(row, field=field, origin=origin)
        if isinstance(read, Concept):
            concepts.append(read)
        else:
            problems += read
    return TermList(origin=origin, concepts=tuple(concepts), problems=tuple(problems), field=field)


def _find_strays(data: dict[str, Any]) -> Iterable[str]:
    for key in data.keys() - {"field", "concept"}:
        yield f"{key} is not known in a term file; correct the word or take it out."
    rows = data.get("concept", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        yield "a concept begins with the line [[concept]]; write it so, with both brackets."
