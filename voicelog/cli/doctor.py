"""voicelog doctor: whether this machine is ready, and what to do where it isn't."""

from __future__ import annotations

import importlib.metadata
import importlib.util
import os
import shutil
import sqlite3
import stat
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import click
from rich.table import Table
from rich.text import Text

from voicelog.cli.log_damage import find_damage
from voicelog.cli.options import log_option
from voicelog.cli.terminal import make_console, safe
from voicelog.errors import PlugInBroken, UsageError, VoicelogError
from voicelog.exports.crosswalk_file import load_crosswalk
from voicelog.plug_ins import Group, find_plug_in, find_plug_ins
from voicelog.settings import Settings, find_user_file, read_settings
from voicelog.store.folder import is_log_folder
from voicelog.store.log import Log
from voicelog.store.soundness import Harm

# The tables of a log are STRICT: https://www.sqlite.org/stricttables.html
_OLDEST_SQLITE = (3, 37, 0)
_OLDEST_PYTHON = (3, 11)
_MOST_DAMAGE_TOLD = 5
# An hour of speech as uncompressed 16 kHz mono sound: 3600 s x 16000 x 2 bytes.
_HOUR_BYTES = 3600 * 16_000 * 2


class State(StrEnum):
    """How a part of the machine stands."""

    READY = "ready"
    NOTE = "note"
    MISSING = "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Examined:
    """What was found about one part of the machine.

    Attributes:
        part: the part.
        state: ready; a note on something that only some commands need; or missing.
        message: what was found, and what to do about it.
    """

    part: str
    state: State
    message: str


@click.command()
@log_option
@click.option(
    "--microphone",
    "tried",
    metavar="[NAME]",
    is_flag=False,
    flag_value="",
    default=None,
    help="Listen for three seconds and say whether speech is clear; NAME is its number, its "
    "name, or a part of it, else the setting.",
)
# How the name was given before --microphone took it.
@click.option("--input", "wanted", metavar="NAME", default="", hidden=True)
def doctor(folder: Path, *, tried: str | None, wanted: str) -> int:
    """Check whether this machine is ready."""
    if tried is not None:
        # Only here, because the packages that it needs may be missing.
        from voicelog.cli.microphone_trial import try_microphone  # noqa: PLC0415

        return try_microphone(tried or wanted or read_settings().microphone)
    if wanted:
        raise UsageError("--input says which microphone to try; write --microphone NAME instead.")
    parts = list(examine(folder))
    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    styles = {State.READY: "green", State.NOTE: "yellow", State.MISSING: "bold red"}
    for each in parts:
        table.add_row(
            Text(str(each.state), style=styles[each.state]),
            Text(safe(each.part)),
            Text(safe(each.message)),
        )
    make_console().print(table)
    return 1 if any(each.state is State.MISSING for each in parts) else 0


def examine(folder: Path) -> Iterator[Examined]:
    """Yield what is found about each part, the log at ``folder`` included."""
    yield _examine_python()
    yield _examine_sqlite()
    yield _examine_packages()
    yield from _examine_plug_ins()
    settings = None
    try:
        settings = read_settings()
    except VoicelogError as failure:
        yield Examined(part="settings", state=State.MISSING, message=str(failure))
    else:
        file = find_user_file(os.environ)
        message = f"read from {file}" if file else "all as shipped; no settings file of your own"
        yield Examined(part="settings", state=State.READY, message=message)
        yield _examine_model(settings)
        yield from _examine_crosswalk(settings)
    yield _examine_microphone(settings.microphone if settings else "")
    yield _examine_disk(folder)
    yield _examine_log(folder)
    if is_log_folder(folder):
        yield _examine_evidence(folder)


def _examine_python() -> Examined:
    version = ".".join(map(str, sys.version_info[:3]))
    if sys.version_info < _OLDEST_PYTHON:
        message = f"{version} is too old; install Python 3.11 or later"
        return Examined(part="Python", state=State.MISSING, message=message)
    return Examined(part="Python", state=State.READY, message=version)


def _examine_sqlite() -> Examined:
    version = sqlite3.sqlite_version
    if sqlite3.sqlite_version_info < _OLDEST_SQLITE:
        oldest = ".".join(map(str, _OLDEST_SQLITE))
        message = f"{version} is too old; use a Python built with SQLite {oldest} or later"
        return Examined(part="SQLite", state=State.MISSING, message=message)
    return Examined(part="SQLite", state=State.READY, message=version)


def _examine_packages() -> Examined:
    modules = {
        "av": "av",
        "click": "click",
        "faster-whisper": "faster_whisper",
        "lxml": "lxml",
        "numpy": "numpy",
        "openpyxl": "openpyxl",
        "pydantic": "pydantic",
        "pymarc": "pymarc",
        "rdflib": "rdflib",
        "rich": "rich",
        "sounddevice": "sounddevice",
        "spacy": "spacy",
        "sqlite-utils": "sqlite_utils",
        "tomlkit": "tomlkit",
        "vosk": "vosk",
        "xlsxwriter": "xlsxwriter",
    }
    missing = [name for name, module in modules.items() if not importlib.util.find_spec(module)]
    if missing:
        message = f"{', '.join(missing)} not found; install voicelog again with pip"
        return Examined(part="packages", state=State.MISSING, message=message)
    versions = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in modules)
    return Examined(part="packages", state=State.READY, message=versions)


def _examine_plug_ins() -> Iterator[Examined]:
    for group in Group:
        for plug_in in find_plug_ins(group):
            part = f"plug-in {plug_in.name}"
            try:
                plug_in.load(object)
            except PlugInBroken as failure:
                yield Examined(part=part, state=State.MISSING, message=str(failure))
            else:
                message = f"{plug_in.package} adds it to {group}"
                yield Examined(part=part, state=State.READY, message=message)


def _examine_crosswalk(settings: Settings) -> Iterator[Examined]:
    if settings.crosswalk_file is None:
        return
    try:
        load_crosswalk(settings.crosswalk_file)
    except VoicelogError as failure:
        yield Examined(part="crosswalk", state=State.MISSING, message=str(failure))
    else:
        message = f"{settings.crosswalk_file} can be used"
        yield Examined(part="crosswalk", state=State.READY, message=message)


def _examine_model(settings: Settings) -> Examined:
    part = "model"
    plug_in = find_plug_in(Group.ENGINES, settings.engine)
    if plug_in is not None:
        message = f"the engine {plug_in.name} of {plug_in.package} finds its own"
        return Examined(part=part, state=State.READY, message=message)
    try:
        # Only here, because it brings the whole of voicelog, and any of it may be missing.
        from voicelog.wiring.hearing import check_chosen_models  # noqa: PLC0415

        models = check_chosen_models(settings)
    except (ImportError, VoicelogError) as failure:
        return Examined(part=part, state=State.MISSING, message=str(failure))
    message = "; ".join(
        f"{model.engine} {model.name}, found whole at {model.folder}" for model in models
    )
    return Examined(part=part, state=State.READY, message=message)


def _examine_microphone(wanted: str) -> Examined:
    part = "microphone"
    try:
        # Only here, because the packages that it needs may be missing.
        from voicelog.session.live.microphone import find_input, list_inputs  # noqa: PLC0415

        inputs = list_inputs()
        taken = find_input(inputs, wanted)
    except (ImportError, VoicelogError) as failure:
        message = f"{failure} Only 'voicelog listen' needs one"
        return Examined(part=part, state=State.NOTE, message=message)
    names = ", ".join(f"{each.number} {each.name}" for each in inputs)
    message = (
        f"{names}; {taken.number} is the one that is taken; 'voicelog doctor --microphone' tries it"
    )
    return Examined(part=part, state=State.READY, message=message)


def _examine_disk(folder: Path) -> Examined:
    place = folder.absolute()
    while not place.exists():
        place = place.parent
    free = shutil.disk_usage(place).free
    hours = free // _HOUR_BYTES
    message = f"{free / 1e9:.1f} GB free at {place}, room for about {hours} hours of recordings"
    if hours < 1:
        return Examined(part="disk", state=State.MISSING, message=f"only {message}; make room")
    return Examined(part="disk", state=State.READY, message=message)


def _examine_log(folder: Path) -> Examined:
    part = "log"
    if not is_log_folder(folder):
        return _examine_place_for_log(folder)
    mode = stat.S_IMODE(folder.stat().st_mode)
    if folder.stat().st_uid != os.getuid():
        message = f"{folder} belongs to somebody else; only its owner should work with it"
        return Examined(part=part, state=State.MISSING, message=message)
    if mode & 0o077:
        message = f"{folder} can be read by others; 'chmod 700 {folder}' closes it"
        return Examined(part=part, state=State.MISSING, message=message)
    try:
        with Log.open(folder) as log:
            message = f"{folder}: {log.count_notes()} notes, {log.count_entries()} entries"
    except VoicelogError as failure:
        return Examined(part=part, state=State.MISSING, message=str(failure))
    return Examined(part=part, state=State.READY, message=message)


def _examine_evidence(folder: Path) -> Examined:
    part = "evidence"
    damage = find_damage(folder)
    if not damage:
        message = "every page of the database is in order, every recording is the one taken in"
        return Examined(part=part, state=State.READY, message=message)
    told = " ".join(one.message for one in damage[:_MOST_DAMAGE_TOLD])
    more = len(damage) - _MOST_DAMAGE_TOLD
    rest = f" And {more} more." if more > 0 else ""
    remedy = (
        "Keep the log as it is and work from a backup; 'voicelog salvage' makes a new log of "
        "what can still be read"
        if any(one.harm is Harm.DAMAGED for one in damage)
        else "Look for the files in a backup"
    )
    return Examined(part=part, state=State.MISSING, message=f"{told}{rest} {remedy}")


def _examine_place_for_log(folder: Path) -> Examined:
    parent = folder.absolute()
    while not parent.exists():
        parent = parent.parent
    if not (parent.is_dir() and os.access(parent, os.W_OK | os.X_OK)):
        message = f"{folder} can't be made: {parent} can't be written; name another with --log"
        return Examined(part="log", state=State.MISSING, message=message)
    message = f"none yet at {folder}; it will be made there"
    return Examined(part="log", state=State.READY, message=message)
