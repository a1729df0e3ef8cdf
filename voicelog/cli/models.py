"""voicelog models: which recogniser models are on this machine, and how to get or make more."""

from __future__ import annotations

import json
import os
from pathlib import Path

import click
from rich.table import Table
from rich.text import Text

from voicelog.cli.terminal import make_console, make_message_console, make_progress, safe, say
from voicelog.errors import ModelMissing
from voicelog.recognition.models import FetchOptions, fetch_model, load_published
from voicelog.settings import find_user_file, own_terms_folder, read_settings
from voicelog.wiring.adapting import make_adapted_model, settings_to_hear_with
from voicelog.wiring.hearing import choose_models, fetching_folder, installed_models

_MOST_NAMED = 20
_PATH = click.Path(path_type=Path)


@click.group(invoke_without_command=True)
@click.pass_context
def models(context: click.Context) -> int | None:
    """List the recogniser models on this machine, fetch one, or teach one your own words."""
    return _print_models() if context.invoked_subcommand is None else None


@models.command("list")
def list_models() -> int:
    """List the models on this machine and those that can be fetched."""
    return _print_models()


@models.command("adapt")
@click.option(
    "--words",
    "names",
    type=_PATH,
    metavar="FILE",
    default=None,
    help="A word or name in each line, with how it is said where spelling doesn't tell: "
    "Quillhaven = quill haven.",
)
@click.option(
    "--model",
    "base",
    type=_PATH,
    metavar="DIR",
    default=None,
    help="The model to begin with; else the vosk-bench that came with voicelog.",
)
@click.option("--out", type=_PATH, metavar="DIR", required=True, help="The new model's folder.")
def adapt(names: Path | None, base: Path | None, out: Path) -> int:
    """Make a vosk model that knows your own names and terms.

    The terms of your own term files are taken in by themselves. Nothing is trained and nothing is
    fetched: only which words the model knows, how they sound and what they stand beside is made
    anew.
    """
    settings = read_settings()
    made = make_adapted_model(settings, names=names, base=base, out=out)
    count = len(made.new_words)
    new = f", {count} of them new: {_name(made.new_words)}" if count else ""
    say(f"The model in {out} knows {made.known_words} words{new}.")
    if made.guessed:
        say(
            f"How these sound was guessed from the spelling: {_name(made.guessed)}. If one is not "
            "heard, write behind an equals sign what it sounds like, and make the model again."
        )
    changes = settings_to_hear_with(out, settings)
    if not changes:
        say("Nothing is left to do: it is heard with from now on.")
        return 0
    file = find_user_file(os.environ) or own_terms_folder(os.environ).with_name("settings.toml")
    say(f"To hear with it, write into {file}:")
    for name, value in changes.items():
        say(f"    {name} = {json.dumps(value, ensure_ascii=False)}")
    return 0


def _name(words: tuple[str, ...]) -> str:
    return ", ".join((*words[:_MOST_NAMED], *(["..."] if len(words) > _MOST_NAMED else [])))


@models.command("fetch")
@click.argument("name")
@click.option(
    "--sha256", metavar="HEX", default=None, help="The archive's checksum, if you have it."
)
def fetch(name: str, sha256: str | None) -> int:
    """Download the published vosk model NAME; this alone uses the network.

    A download that was interrupted goes on where it stopped.
    """
    folder = fetching_folder(read_settings())
    with make_progress(make_message_console()) as progress:
        task = progress.add_task(safe(name), total=None)

        def move(received_bytes: int, total_bytes: int | None) -> None:
            progress.update(task, completed=received_bytes, total=total_bytes)

        where = fetch_model(name, into=folder, progress=move, options=FetchOptions(sha256=sha256))
    say(f"The model is ready in {where}. 'voicelog models' shows which one is used.")
    return 0


def _print_models() -> int:
    settings = read_settings()
    found = installed_models(settings)
    try:
        chosen = {model.folder for model in choose_models(settings)}
    except ModelMissing as failure:
        chosen = set()
        say(str(failure))
    console = make_console()
    installed = _make_table("on this machine", "engine", "size", "where")
    for model in found:
        mark = "→ " if model.folder in chosen else "  "
        size = f"{model.size_bytes / 1e6:.0f} MB"
        installed.add_row(
            Text(f"{mark}{safe(model.name)}"), model.engine, size, Text(safe(str(model.folder)))
        )
    console.print(installed)
    here = {model.name for model in found}
    published = _make_table("can be fetched", "engine", "size", "what it is")
    offered = [each for each in load_published() if each.name not in here]
    # A name is there to be typed: what it is about is folded instead.
    published.columns[0].min_width = max((len(each.name) + 2 for each in offered), default=0)
    for each in offered:
        published.add_row(
            Text(f"  {each.name}"), "vosk", f"{each.download_mb} MB", Text(each.description)
        )
    console.print()
    console.print(published)
    say(f"→ is used with engine = {settings.engine!r}. 'voicelog models fetch NAME' gets another.")
    return 0


def _make_table(*headings: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    first, *others = headings
    table.add_column(f"  {first}", overflow="fold")
    for heading in others:
        table.add_column(heading, overflow="fold", style="dim", justify="left")
    return table
