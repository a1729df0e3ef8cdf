"""Writing term files: what a person wrote in one, comments included, stays as it is."""

from __future__ import annotations

import contextlib
import os
import uuid
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import Array

from voicelog.errors import VocabularyError
from voicelog.vocabulary.concepts import AuthorityMatch, Concept, TermField
from voicelog.vocabulary.term_files import (
    SUFFIX,
    find_term_files,
    parse_term_file,
    read_term_file,
    read_text,
)
from voicelog.vocabulary.term_lists import refuse

_LONGEST_LINE = 90


def choose_term_file(field: TermField, own_paths: Sequence[Path]) -> Path:
    """Return the file that a repository's new terms of a field go into.

    That is the last file for this field, else one to be made in the last folder.

    Args:
        field: the field of the terms.
        own_paths: the repository's term files, and folders of them.

    Raises:
        VocabularyError: no file is for this field, and no folder is named to make one in.
    """
    fitting = [file for file in find_term_files(own_paths) if read_term_file(file).field is field]
    if fitting:
        return fitting[-1]
    folders = [path for path in own_paths if path.suffix != SUFFIX]
    if not folders:
        raise VocabularyError(
            f"No file named in the setting vocabulary_files is for {field}; name a folder there, "
            f'or a file that begins with the line field = "{field}".'
        )
    return folders[-1] / f"{field}{SUFFIX}"


def add_to_term_file(text: str | None, concepts: Iterable[Concept], *, field: TermField) -> str:
    """Return a term file's text with concepts added.

    A concept whose id the file has already gives it its variants and cautions.

    Args:
        text: the file as it is, or None for a file to be made.
        concepts: what to add, all of one field.
        field: that field.
    """
    document = tomlkit.parse(text if text is not None else _begin(field))
    rows: Any = document.get("concept", [])
    by_id = {row["id"]: row for row in rows}
    new = []
    for concept in concepts:
        if concept.id in by_id:
            _extend(by_id[concept.id], concept)
        else:
            new.append(concept)
    if isinstance(rows, Array):
        rows.extend(_make_row(concept) for concept in new)
        return tomlkit.dumps(document)
    existing = tomlkit.dumps(document)
    begun = existing if existing.endswith("\n") else f"{existing}\n"
    return begun + "".join(f"\n[[concept]]\n{tomlkit.dumps(_make_row(each))}" for each in new)


def write_concepts(concepts: Iterable[Concept], own_paths: Sequence[Path]) -> tuple[Path, ...]:
    """Add concepts to the repository's term files: all of them, or none.

    Returns:
        the files that were written.

    Raises:
        VocabularyError: a file can't be read or written, or there is no place for a field.
    """
    by_field: dict[TermField, list[Concept]] = {}
    for concept in concepts:
        by_field.setdefault(concept.field, []).append(concept)
    texts: dict[Path, str] = {}
    for field, its_concepts in by_field.items():
        file = choose_term_file(field, own_paths)
        text = _read_existing(file)
        texts[file] = add_to_term_file(text, its_concepts, field=field)
        refuse(parse_term_file(texts[file], origin=str(file)).problems)
    write_files({file: text.encode("utf-8") for file, text in texts.items()})
    return tuple(texts)


def write_files(contents: Mapping[Path, bytes]) -> None:
    """Write files so that none takes its name before all of them are complete.

    Raises:
        VocabularyError: one can't be written; those that were there are as they were.
    """
    unfinished: dict[Path, Path] = {}
    current = Path()
    try:
        for path, content in contents.items():
            current = path
            target = path.resolve()
            target.parent.mkdir(parents=True, exist_ok=True)
            beside = target.with_name(f".{target.name[:60]}.{uuid.uuid4().hex}")
            unfinished[beside] = target
            _write_through(beside, content)
        for beside, target in unfinished.items():
            current = target
            beside.replace(target)
    except OSError as failure:
        reason = (failure.strerror or "unknown reason").lower()
        raise VocabularyError(
            f"{current} can't be written ({reason}); choose another place or free some room."
        ) from failure
    finally:
        for beside in unfinished:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)


def _write_through(path: Path, content: bytes) -> None:
    with path.open("xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _read_existing(file: Path) -> str | None:
    if not file.exists():
        return None
    refuse(read_term_file(file).problems)
    return read_text(file)


def _begin(field: TermField) -> str:
    return f'# Terms of our own, read after voicelog\'s.\nfield = "{field}"\n'


def _make_row(concept: Concept) -> dict[str, Any]:
    row: dict[str, Any] = {"id": concept.id, "term": concept.term}
    if concept.variants:
        row["variants"] = _make_array(concept.variants)
    if concept.definition:
        row["definition"] = concept.definition
    if concept.authority:
        row["authority"] = concept.authority
        if concept.authority_match is not AuthorityMatch.EXACT:
            row["authority_match"] = str(concept.authority_match)
    if concept.cautions:
        row["cautions"] = _make_array(concept.cautions)
    return row


def _extend(row: Any, concept: Concept) -> None:
    for key, values in (("variants", concept.variants), ("cautions", concept.cautions)):
        present = row.get(key, ())
        fresh = [value for value in values if value not in present]
        if fresh and present:
            present.extend(fresh)
        elif fresh:
            row[key] = _make_array(fresh)


def _make_array(values: Iterable[str]) -> Array:
    array = tomlkit.array()
    array.extend(values)
    return array.multiline(multiline=len(array.as_string()) > _LONGEST_LINE)
