"""voicelog vocabulary: the terms that rows use, what people also say, and a repository's own."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import click
from rich.table import Table
from rich.text import Text

from voicelog.cli.options import json_option
from voicelog.cli.table import respell
from voicelog.cli.terminal import make_console, safe, say, write_json_lines
from voicelog.errors import UsageError, VocabularyError
from voicelog.settings import Settings, own_terms_folder, read_settings
from voicelog.vocabulary import Concept, TermField
from voicelog.vocabulary.combining import combine, find_problems
from voicelog.vocabulary.exchange import check_base, read_list, write_list
from voicelog.vocabulary.growth import Gain, added, plan_growth
from voicelog.vocabulary.loading import load_cautions, read_lists
from voicelog.vocabulary.term_file_writing import write_concepts
from voicelog.vocabulary.term_files import find_term_files
from voicelog.vocabulary.term_lists import TermList, make_id, parse_concept, refuse
from voicelog.wiring.reading import given_term_lists, make_vocabulary

_FIELDS = click.Choice([str(field) for field in TermField])
_FILE = click.Path(path_type=Path)
_COMMAND_LINE = "The new term"


@click.group(invoke_without_command=True)
@click.pass_context
def vocabulary(context: click.Context) -> int | None:
    """List the terms that rows use and what people also say; add your own."""
    return _print_terms(None) if context.invoked_subcommand is None else None


@vocabulary.command("list")
@click.argument("field", metavar="[FIELD]", type=_FIELDS, required=False)
@json_option
def list_terms(field: str | None, *, as_json: bool) -> int:
    """List terms and variants, all or those of one FIELD."""
    if not as_json:
        return _print_terms(field)
    write_json_lines(_format_record(concept) for concept in _load_concepts(field))
    return 0


@vocabulary.command("add")
@click.argument("field", metavar="FIELD", type=_FIELDS)
@click.argument("term")
@click.option(
    "--variant",
    "variants",
    multiple=True,
    metavar="WORDS",
    help="What people also say; may be repeated.",
)
@click.option("--definition", default="", metavar="WORDS", help="One sentence: what it is.")
@click.option(
    "--caution",
    "cautions",
    multiple=True,
    metavar="ID",
    help="A caution that applies to it; may be repeated.",
)
def add_term(
    field: str, term: str, variants: tuple[str, ...], definition: str, cautions: tuple[str, ...]
) -> int:
    """Add a term of your own.

    TERM goes into your term file for FIELD; for a term that is there already, its variants
    and cautions do.
    """
    settings = read_settings()
    present = _read_present(settings)
    concept = _make_concept(
        present,
        TermField(field),
        {
            "term": term,
            "variants": list(variants),
            "definition": definition,
            "cautions": list(cautions),
        },
    )
    wanted = TermList(origin=_COMMAND_LINE, concepts=(concept,))
    growth = plan_growth(present, wanted, cautions=load_cautions())
    refuse(growth.problems)
    files = write_concepts(added(growth.gains), _own_paths(settings))
    _tell_gains(growth.gains, done=True)
    if not files:
        say(f"{concept.term!r} has all of this already; nothing was written.")
    for problem in growth.problems:
        say(str(problem))
    _tell_files(files)
    return 0


@vocabulary.command("check")
@click.argument("files", metavar="[FILE...]", nargs=-1, type=_FILE)
def check(files: tuple[Path, ...]) -> int:
    """Say everything that is wrong with the terms.

    With FILEs, those too: term files, SKOS or CSV.
    """
    settings = read_settings()
    present = [file.resolve() for file in find_term_files(settings.vocabulary_files)]
    own = read_lists(settings.vocabulary_files)
    # A file that the settings name as well is read once, where it stands there.
    others = [read_list(file) for file in files if file.resolve() not in present]
    lists = (*given_term_lists(), *own, *others)
    problems = tuple(find_problems(lists, cautions=load_cautions()))
    console = make_console()
    for problem in problems:
        console.print(Text(safe(str(problem))), soft_wrap=True)
    count = len(combine(lists))
    if problems:
        noun = "problem" if len(problems) == 1 else "problems"
        say(f"{len(problems)} {noun} in {len(lists)} term lists with {count} terms.")
        return 1
    say(f"Nothing is wrong with {len(lists)} term lists with {count} terms.")
    return 0


@vocabulary.command("import")
@click.argument("file", type=_FILE)
@click.option(
    "--field",
    metavar="FIELD",
    type=_FIELDS,
    default=None,
    help="The field of terms that name none.",
)
@click.option("--dry-run", is_flag=True, help="Say what would be added, and add nothing.")
def import_terms(file: Path, field: str | None, *, dry_run: bool) -> int:
    """Take in the terms of a file, all or none.

    FILE is SKOS (.ttl, .jsonld), CSV (.csv) or a term file (.toml). Nothing is fetched.
    """
    settings = read_settings()
    present = _read_present(settings)
    incoming = read_list(file, field=TermField(field) if field else None)
    growth = plan_growth(present, incoming, cautions=load_cautions())
    for problem in growth.problems:
        say(str(problem))
    if any(problem.is_grave for problem in growth.problems):
        raise VocabularyError(f"{file} can't be taken; nothing was written.")
    if not dry_run:
        files = write_concepts(added(growth.gains), _own_paths(settings))
    _tell_gains(growth.gains, done=not dry_run)
    new = sum(gain.is_new for gain in growth.gains)
    more = sum(gain.adds and not gain.is_new for gain in growth.gains)
    known = len(growth.gains) - new - more
    would = "would be " if dry_run else ""
    say(f"{new} terms {would}added, {more} {would}extended, {known} known already.")
    if not dry_run:
        _tell_files(files)
    return 0


@vocabulary.command("export")
@click.argument("file", type=_FILE)
@click.option(
    "--field", metavar="FIELD", type=_FIELDS, default=None, help="Only the terms of one field."
)
@click.option(
    "--base",
    metavar="ADDRESS",
    default=None,
    help="What the addresses of concepts begin with in SKOS, if you have one of your own.",
)
def export_terms(file: Path, field: str | None, base: str | None) -> int:
    """Write the terms to a file for other programs.

    FILE becomes SKOS (.ttl, .jsonld) or CSV (.csv), by its ending.
    """
    if base is not None:
        check_base(base)
    concepts = _load_concepts(field)
    write_list(file, concepts, base=base, creator=read_settings().repository)
    say(f"{len(concepts)} terms written to {file}.")
    return 0


def _load_concepts(field: str | None) -> tuple[Concept, ...]:
    terms = make_vocabulary(read_settings())
    return tuple(each for each in terms.concepts if field in {None, str(each.field)})


def _read_present(settings: Settings) -> tuple[TermList, ...]:
    lists = (*given_term_lists(), *read_lists(settings.vocabulary_files))
    refuse(find_problems(lists, cautions=load_cautions()))
    return lists


def _own_paths(settings: Settings) -> Sequence[Path]:
    return settings.vocabulary_files or (own_terms_folder(os.environ),)


def _make_concept(present: Iterable[TermList], field: TermField, values: dict[str, Any]) -> Concept:
    known = {
        concept.term: concept.id
        for each in present
        for concept in each.concepts
        if concept.field is field
    }
    term = " ".join(str(values["term"]).split())
    # A term that is there already is extended, so its id is taken over.
    values = {**values, "id": known.get(term) or make_id(term)}
    read = parse_concept(values, field=field, origin=_COMMAND_LINE)
    if isinstance(read, Concept):
        return read
    raise UsageError(str(read[0]))


def _print_terms(field: str | None) -> int:
    spelling = read_settings().spelling
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("field", style="dim", no_wrap=True)
    table.add_column("term", ratio=2)
    table.add_column("people also say", ratio=4, style="dim")
    for concept in _load_concepts(field):
        table.add_row(
            str(concept.field),
            Text(safe(respell(concept.term, spelling))),
            Text(safe(", ".join(concept.variants))),
        )
    make_console().print(table)
    return 0


def _format_record(concept: Concept) -> dict[str, Any]:
    return {
        "field": str(concept.field),
        "id": concept.id,
        "term": concept.term,
        "variants": list(concept.variants),
        "definition": concept.definition,
        "authority": concept.authority,
        "authority_match": str(concept.authority_match) if concept.authority else None,
        "cautions": list(concept.cautions),
    }


def _tell_gains(gains: Iterable[Gain], *, done: bool) -> None:
    would = "" if done else "would be "
    console = make_console()
    for gain in gains:
        part = gain.part
        also = ", ".join(repr(form) for form in part.variants)
        facts = [f"also said {also}"] if also else []
        facts += [f"with the caution {caution}" for caution in part.cautions]
        about = f" ({'; '.join(facts)})" if facts else ""
        if gain.adds:
            verb = "added" if gain.is_new else "extended"
            line = f"{part.field}: {part.term!r} {would}{verb}{about}"
            console.print(Text(safe(line)), soft_wrap=True)
        for fact in gain.overruled:
            say(f"{part.field}: {part.term!r} keeps the {fact} it has; the new one is left out.")


def _tell_files(files: Iterable[Path]) -> None:
    for file in files:
        say(f"Written to {file}. 'voicelog reread --log DIR' reads a log again with it.")
