"""Term lists from and to other programs: SKOS and CSV, told apart by the file's ending."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from voicelog.errors import UsageError, VocabularyError
from voicelog.vocabulary.concepts import Concept, TermField
from voicelog.vocabulary.term_file_writing import write_files
from voicelog.vocabulary.term_files import SUFFIX, read_term_file, read_text
from voicelog.vocabulary.term_lists import Problem, TermList
from voicelog.vocabulary.term_table import format_term_table, parse_term_table

_TABLE = ".csv"
_LINKED = (".ttl", ".jsonld")
SUFFIXES = (*_LINKED, _TABLE)
# An absolute IRI (RFC 3987) of the kinds that linked data is named with.
_BASE = re.compile(r"(?:https?://[^\s<>\"{}|\\^`/]+|urn:[a-z0-9-]+:)[^\s<>\"{}|\\^`]*(?<=[/#:])")


def read_list(path: Path, *, field: TermField | None = None) -> TermList:
    """Return the concepts of a file of another program, or of a term file.

    Args:
        path: a Turtle, JSON-LD, CSV or term file.
        field: the field of concepts that name none.

    Raises:
        UsageError: the file's ending is none of these.
    """
    suffix = path.suffix.lower()
    if suffix == SUFFIX:
        return read_term_file(path)
    if suffix not in SUFFIXES:
        raise UsageError(_name_suffixes(path))
    origin = str(path)
    try:
        if suffix == _TABLE:
            return parse_term_table(read_text(path), origin=origin, field=field)
        content = read_text(path).encode("utf-8")
    except VocabularyError as failure:
        return TermList(origin=origin, problems=(Problem(origin=origin, message=str(failure)),))
    # rdflib takes a third of a second to load, and only these files need it.
    from voicelog.vocabulary.skos import parse_skos  # noqa: PLC0415

    return parse_skos(content, suffix=suffix, origin=origin, field=field)


def write_list(
    path: Path, concepts: Iterable[Concept], *, base: str | None = None, creator: str = ""
) -> None:
    """Write concepts to a file for other programs.

    Args:
        path: a file ending in ``.ttl``, ``.jsonld`` or ``.csv``; one that is there is replaced.
        concepts: what to write.
        base: what addresses in linked data begin with, where they should be a repository's own.
        creator: whose vocabulary it is.

    Raises:
        UsageError: the file's ending is none of these.
        VocabularyError: it can't be written.
    """
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise UsageError(_name_suffixes(path))
    if suffix == _TABLE:
        content = format_term_table(concepts).encode("utf-8")
    else:
        from voicelog.vocabulary.skos import SchemeOptions, format_skos  # noqa: PLC0415

        options = SchemeOptions(creator=creator, **({"base": base} if base else {}))
        content = format_skos(concepts, suffix=suffix, options=options)
    write_files({path: content})


def check_base(base: str) -> None:
    """Refuse what no address of a concept can begin with.

    Raises:
        UsageError: it is no absolute address, or doesn't end where an id can follow.
    """
    if not _BASE.fullmatch(base):
        raise UsageError(
            f"{base!r} can't begin an address; write one like https://tarnvalley.example/terms/ "
            "that ends with /, # or :."
        )


def _name_suffixes(path: Path) -> str:
    return f"{path} ends with none of {', '.join(SUFFIXES)}; name a file of one of these kinds."
