"""voicelog vocabulary: the terms that rows use and what people also say."""

from __future__ import annotations

import click
from rich.table import Table
from rich.text import Text

from voicelog.cli.terminal import make_console, safe
from voicelog.settings import read_settings
from voicelog.vocabulary import TermField, load_vocabulary


@click.group(invoke_without_command=True)
@click.pass_context
def vocabulary(context: click.Context) -> int | None:
    """List the terms that rows use and what people also say."""
    if context.invoked_subcommand is None:
        return _print_terms(None)
    return None


@vocabulary.command("list")
@click.option(
    "--field",
    type=click.Choice([str(field) for field in TermField]),
    default=None,
    help="Only the terms of one field.",
)
def list_terms(field: str | None) -> int:
    """List field, term and variants."""
    return _print_terms(field)


def _print_terms(wanted: str | None) -> int:
    terms = load_vocabulary(*read_settings().vocabulary_files)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("field", style="dim", no_wrap=True)
    table.add_column("term", ratio=2)
    table.add_column("people also say", ratio=4, style="dim")
    for concept in terms.concepts:
        if wanted in {None, str(concept.field)}:
            table.add_row(
                str(concept.field),
                Text(safe(concept.term)),
                Text(safe(", ".join(concept.variants))),
            )
    make_console().print(table)
    return 0
