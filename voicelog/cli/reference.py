"""voicelog reference: every command, setting, field, finding and format there is."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Iterable, Iterator
from importlib import resources

import click

from voicelog.checks.closing import rules
from voicelog.cli import cli
from voicelog.domain.record_fields import RECORD
from voicelog.errors import UsageError
from voicelog.exports.formats import Format
from voicelog.plug_ins import Group, find_plug_ins
from voicelog.settings import ENGINES
from voicelog.wiring.plug_ins import all_formats, plug_in_checks

_SETTING = re.compile(r"^(?P<name>[a-z_]+) = (?P<default>.*)$")
_SECTION = re.compile(r"^# --- (?P<title>.*?) -+$")


Part = Callable[[], Iterator[str]]


@click.command()
@click.argument("part", metavar="[PART]", required=False)
def reference(part: str | None) -> int:
    """Print every command, setting, field, finding and format.

    As Markdown; PART is one of commands, settings, engines, records, findings, formats. What
    plug-ins add is among them.
    """
    if part is None:
        text = format_reference()
    elif part in PARTS:
        text = "\n".join(PARTS[part]())
    else:
        raise UsageError(f"{part!r} is no part of the reference; it is one of {', '.join(PARTS)}.")
    click.echo(text.rstrip())
    return 0


def format_reference() -> str:
    """Return the whole reference, as it lies in ``voicelog/documents/REFERENCE.md``."""
    head = (
        "# Reference",
        "",
        "Every command, setting, field, finding and format, as `voicelog reference` prints them.",
        "",
    )
    return "\n".join([*head, *(line for part in PARTS.values() for line in part())]).rstrip() + "\n"


def _describe_commands() -> Iterator[str]:
    yield from ("## Commands", "")
    yield from (
        "Exit status: 0, done (queried entries are normal); 1, an input held nothing usable,",
        "something stopped the work (a sentence says what), or `check` leaves an error or a",
        "warning that nobody accepted; 2, wrong usage. With `--json`, standard output holds JSON",
        "Lines and nothing else; progress and messages go to standard error.",
        "",
    )
    with click.Context(cli, info_name="voicelog") as context:
        yield from _describe_subcommands(cli, context)


def _describe_subcommands(group: click.Group, context: click.Context) -> Iterator[str]:
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if command is not None:
            yield from _describe_command(command, click.Context(command, context, name))


def _describe_command(command: click.Command, context: click.Context) -> Iterator[str]:
    usage = " ".join([context.command_path, *command.collect_usage_pieces(context)])
    yield from (f"### {context.command_path}", "", f"    {usage}", "")
    yield from _paragraphs(command.help or "")
    records = (
        option.get_help_record(context)
        for option in command.params
        if isinstance(option, click.Option)
    )
    rows = [(f"`{record[0]}`", record[1]) for record in records if record]
    if rows:
        yield from _table(("option", "meaning"), rows)
    if isinstance(command, click.Group):
        yield from _describe_subcommands(command, context)


def _paragraphs(text: str) -> Iterator[str]:
    for paragraph in text.split("\n\n"):
        yield from (*textwrap.wrap(" ".join(paragraph.split()), 100), "")


def _describe_settings() -> Iterator[str]:
    text = (resources.files("voicelog") / "default_settings.toml").read_text(encoding="utf-8")
    said: list[str] = []
    yield from ("## Settings", "")
    yield from (
        "Every setting has a default. Write down only what you want different, in",
        "`~/.config/voicelog/settings.toml` (or the file that the variable `VOICELOG_SETTINGS`",
        "names), or as a variable: `VOICELOG_` and the name in capitals, such as",
        "`VOICELOG_DEFAULT_UNIT=cm`. The command line wins over variables, those over your file.",
        "",
    )
    # What stands before the first empty line tells of the file itself.
    _, _, rest = text.partition("\n\n")
    rows: list[tuple[str, ...]] = []
    for line in rest.splitlines():
        if section := _SECTION.match(line):
            yield from _settings_table(rows)
            yield from (f"### {section['title']}", "")
            rows, said = [], []
        elif setting := _SETTING.match(line):
            default = setting["default"]
            rows.append((f"`{setting['name']}`", f"`{default}`", " ".join(said)))
            said = []
        elif line.startswith("#"):
            said.append(line.removeprefix("#").strip())
        elif said:
            # A comment with nothing below it is about the whole section.
            yield from _paragraphs(" ".join(said))
            said = []
    yield from _settings_table(rows)


def _settings_table(rows: list[tuple[str, ...]]) -> Iterator[str]:
    if rows:
        yield from _table(("setting", "default", "meaning"), rows)


def _describe_engines() -> Iterator[str]:
    yield from ("## Engines", "", "Of `--engine` and the setting `engine`.", "")
    plugged_in = (
        (f"`{plug_in.name}`", f"a plug-in, of {plug_in.package}")
        for plug_in in find_plug_ins(Group.ENGINES)
    )
    ours = ((f"`{name}`", summary) for name, summary in ENGINES.items())
    yield from _table(("engine", "how it hears"), (*ours, *plugged_in))


def _describe_records() -> Iterator[str]:
    yield from ("## Records", "", "### Entry", "")
    yield from (
        "`show --json` and `export jsonl` give one JSON object a line. `export csv` and `xlsx`",
        "have the same names as columns, and last `version`, which grows with every change of the",
        'entry (several values in one cell joined with "; ", relations as JSON; in CSV an',
        "apostrophe before what a spreadsheet would take for a formula).",
        "",
    )
    yield from _table(
        ("key", "value", "meaning"), ((f"`{one.name}`", one.values, one.meaning) for one in RECORD)
    )
    text = resources.files("voicelog").joinpath("documents", "other_records.md").read_text("utf-8")
    yield from text.rstrip().splitlines()
    yield ""


def _describe_findings() -> Iterator[str]:
    plugged_in = (rule for check in plug_in_checks() for rule in check.rules)
    yield from ("## Findings", "")
    yield from (
        "Of `voicelog check`. Errors and warnings that nobody accepted make it end with 1; notices",
        "don't.",
        "",
    )
    yield from _table(
        ("finding", "severity", "found where", "what to do"),
        (
            (f"`{rule.code}`", str(rule.severity), rule.found, rule.remedy)
            for rule in (*rules(), *plugged_in)
        ),
    )


def _describe_formats() -> Iterator[str]:
    yield from ("## Formats", "", "Of `voicelog export`.", "")
    yield from _table(
        ("format", "what it becomes", "one record for each"),
        ((f"`{one.name}`", one.summary, _name_kinds(one)) for one in all_formats()),
    )


def _name_kinds(format_: Format) -> str:
    if format_.holds_the_log:
        return "log"
    if format_.whole_volumes:
        return "volume"
    return "entry" if len(format_.kinds) > 1 else " ".join(map(str, format_.kinds))


def _table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> Iterator[str]:
    yield f"| {' | '.join(heads)} |"
    yield "|" + "---|" * len(heads)
    for row in rows:
        yield f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in row)} |"
    yield ""


PARTS: dict[str, Part] = {
    "commands": _describe_commands,
    "settings": _describe_settings,
    "engines": _describe_engines,
    "records": _describe_records,
    "findings": _describe_findings,
    "formats": _describe_formats,
}
