"""Settings: shipped defaults, the user's file, variables, the command line, in that order.

``default_settings.toml`` is the documentation of every setting.
"""

from __future__ import annotations

import difflib
import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from voicelog.checks.scans.matching import parse_matching
from voicelog.checks.sequence import ImagedBy
from voicelog.domain.retention import Retention, parse_retention
from voicelog.domain.speakers import Told
from voicelog.errors import ParseError, SettingsError
from voicelog.plug_ins import Group, find_plug_ins

_VARIABLE_PREFIX = "VOICELOG_"
# Variables that say where things are; they are no settings.
_OTHER_VARIABLES = frozenset({"VOICELOG_LOG", "VOICELOG_SETTINGS", "VOICELOG_TRACEBACK"})

NAMED_KEYS = (
    *("space", "enter", "tab", "backspace", "up", "down", "left", "right", "home", "end"),
    *("page up", "page down"),
    *(f"f{number}" for number in range(1, 13)),
)
"""Keys that a setting names in words; all others are single characters."""

ENGINES = MappingProxyType(
    {
        "auto": "both; with prefer_published_model, a published full-size vosk model alone",
        "both": "whisper and vosk hear every note, and their words are joined",
        "whisper": "free speech",
        "vosk": "instant, smaller vocabulary",
    }
)
"""The engines that voicelog brings, and the choice among them; plug-ins can add others."""
Unit = Literal["inch", "cm", "mm"]
Spelling = Literal["british", "american"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Everything a repository decides; see ``default_settings.toml`` for each meaning."""

    repository: str
    iiif_base_url: str
    handler: str
    accession_patterns: tuple[str, ...]
    known_accessions: tuple[str, ...]
    default_unit: Unit
    default_century: int
    day_first: bool
    first_page: int
    spelling: Spelling
    vocabulary_files: tuple[Path, ...]
    crosswalk_file: Path | None
    query_below: float
    blind_sample_percent: float
    engine: str
    prefer_published_model: bool
    model_folder: Path | None
    pause_ms: int
    padding_ms: int
    threads: int
    microphone: str
    tone_volume: int
    voice: bool
    read_back: bool
    key_check: str
    key_pause: str
    key_strike: str
    stock_file: Path | None
    triage_file: Path | None
    label_file: Path | None
    label_layout: str
    people_recorded: tuple[str, ...]
    people_told: Told
    audio_retention: Retention
    imaged_by: ImagedBy
    scan_names: tuple[str, ...]
    scan_least_ppi: int


def setting_names() -> tuple[str, ...]:
    """Return the names of all settings."""
    return tuple(field.name for field in fields(Settings))


def read_settings(
    *,
    overrides: Mapping[str, Any] | None = None,
    environment: Mapping[str, str] | None = None,
) -> Settings:
    """Return the settings that hold now.

    Args:
        overrides: what the command line says; None values are passed over.
        environment: the variables to look at; those of the process by default.

    Raises:
        SettingsError: a file or a variable holds a wrong key or value; the sentence names it.
    """
    environment = os.environ if environment is None else environment
    shipped = resources.files("voicelog").joinpath("default_settings.toml")
    values = tomllib.loads(shipped.read_text(encoding="utf-8"))
    user_file = find_user_file(environment)
    if user_file is not None:
        values |= _check_values(_read_file(user_file), origin=str(user_file))
    values |= _read_variables(environment)
    given = {key: value for key, value in (overrides or {}).items() if value is not None}
    values |= _check_values(given, origin="the command line")
    settings = _freeze(_Form.model_validate(values))
    folder = own_terms_folder(environment)
    if not settings.vocabulary_files and folder.is_dir():
        return replace(settings, vocabulary_files=(folder,))
    return settings


def own_terms_folder(environment: Mapping[str, str]) -> Path:
    """Return where a repository's term files lie when the setting names none."""
    return _user_folder(environment) / "terms"


def find_user_file(environment: Mapping[str, str]) -> Path | None:
    """Return the user's settings file, or None where there is none.

    Raises:
        SettingsError: VOICELOG_SETTINGS names a file that is not there.
    """
    if named := environment.get("VOICELOG_SETTINGS"):
        if not Path(named).is_file():
            raise SettingsError(
                f"VOICELOG_SETTINGS names {named}, which is not a file; "
                "correct the variable or remove it."
            )
        return Path(named)
    usual = _user_folder(environment) / "settings.toml"
    return usual if usual.is_file() else None


def _user_folder(environment: Mapping[str, str]) -> Path:
    home = environment.get("XDG_CONFIG_HOME") or str(Path.home() / ".config")
    return Path(home) / "voicelog"


def _check_pattern(text: str) -> str:
    try:
        re.compile(text)
    except re.error as failure:
        raise ValueError(f"{text!r} is not a regular expression ({failure})") from failure
    return text


def _check_address(address: str) -> str:
    if re.fullmatch(r"https?://[^\s?#]+", address):
        return address
    raise ValueError(f"{address!r} is no address; write one that begins with https://")


def _check_key(name: str) -> str:
    if len(name) <= 1 or name in NAMED_KEYS:
        return name
    raise ValueError(
        f"{name!r} is not a key; write one character, or one of {', '.join(NAMED_KEYS)}"
    )


def engine_names() -> tuple[str, ...]:
    """Return what the setting ``engine`` can be on this machine."""
    return (*ENGINES, *(plug_in.name for plug_in in find_plug_ins(Group.ENGINES)))


def _check_engine(name: str) -> str:
    if name in ENGINES or name in engine_names():
        return name
    raise ValueError(f"{name!r} is no engine; write one of {', '.join(engine_names())}")


def _check_retention(text: str) -> str:
    try:
        parse_retention(text)
    except ParseError as failure:
        raise ValueError(str(failure)) from failure
    return text


def _check_scan_name(example: str) -> str:
    try:
        parse_matching([example])
    except ParseError as failure:
        raise ValueError(str(failure)) from failure
    return example


class _Form(BaseModel):
    """The door where outsiders write."""

    model_config = ConfigDict(extra="forbid", strict=True)

    repository: str = ""
    iiif_base_url: Annotated[str, AfterValidator(_check_address)] = "https://voicelog.invalid/iiif"
    handler: str = ""
    accession_patterns: list[Annotated[str, AfterValidator(_check_pattern)]] = []
    known_accessions: list[str] = []
    default_unit: Unit = "inch"
    default_century: int = Field(default=1900, ge=1000, le=2900, multiple_of=100)
    day_first: bool = False
    first_page: int = Field(default=1, ge=1)
    spelling: Spelling = "british"
    vocabulary_files: list[str] = []
    crosswalk_file: str = ""
    query_below: float = Field(default=0.5, ge=0, le=1)
    blind_sample_percent: float = Field(default=5, ge=0.1, le=100)
    engine: Annotated[str, AfterValidator(_check_engine)] = "auto"
    prefer_published_model: bool = False
    model_folder: str = ""
    pause_ms: int = Field(default=700, ge=200, le=5000)
    padding_ms: int = Field(default=350, ge=0, le=2000)
    threads: int = Field(default=0, ge=0, le=256)
    microphone: str = ""
    tone_volume: int = Field(default=40, ge=0, le=100)
    voice: bool = True
    read_back: bool = False
    key_check: Annotated[str, AfterValidator(_check_key)] = "c"
    key_pause: Annotated[str, AfterValidator(_check_key)] = "p"
    key_strike: Annotated[str, AfterValidator(_check_key)] = "s"
    stock_file: str = ""
    triage_file: str = ""
    label_file: str = ""
    label_layout: str = "a4-3x7"
    people_recorded: list[str] = []
    people_told: Literal["yes", "no", "unknown"] = "unknown"
    audio_retention: Annotated[str, AfterValidator(_check_retention)] = "keep"
    imaged_by: Literal["pages", "openings"] = "pages"
    scan_names: list[Annotated[str, AfterValidator(_check_scan_name)]] = []
    scan_least_ppi: int = Field(default=0, ge=0, le=10_000)


def _freeze(form: _Form) -> Settings:
    return Settings(
        repository=form.repository,
        iiif_base_url=form.iiif_base_url,
        handler=form.handler,
        accession_patterns=tuple(form.accession_patterns),
        known_accessions=tuple(form.known_accessions),
        default_unit=form.default_unit,
        default_century=form.default_century,
        day_first=form.day_first,
        first_page=form.first_page,
        spelling=form.spelling,
        vocabulary_files=tuple(Path(file).expanduser() for file in form.vocabulary_files),
        crosswalk_file=_path(form.crosswalk_file),
        query_below=form.query_below,
        blind_sample_percent=form.blind_sample_percent,
        engine=form.engine,
        prefer_published_model=form.prefer_published_model,
        model_folder=_path(form.model_folder),
        pause_ms=form.pause_ms,
        padding_ms=form.padding_ms,
        threads=form.threads,
        microphone=form.microphone,
        tone_volume=form.tone_volume,
        voice=form.voice,
        read_back=form.read_back,
        key_check=form.key_check,
        key_pause=form.key_pause,
        key_strike=form.key_strike,
        stock_file=_path(form.stock_file),
        triage_file=_path(form.triage_file),
        label_file=_path(form.label_file),
        label_layout=form.label_layout,
        people_recorded=tuple(form.people_recorded),
        people_told=Told(form.people_told),
        audio_retention=parse_retention(form.audio_retention),
        imaged_by=ImagedBy(form.imaged_by),
        scan_names=tuple(form.scan_names),
        scan_least_ppi=form.scan_least_ppi,
    )


def _path(text: str) -> Path | None:
    return Path(text).expanduser() if text else None


def _read_file(path: Path) -> dict[str, Any]:
    try:
        values = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as failure:
        raise SettingsError(
            f"The settings file {path} can't be read ({failure.strerror}); check its rights."
        ) from failure
    except UnicodeDecodeError as failure:
        raise SettingsError(
            f"The settings file {path} is not UTF-8 text; save it as UTF-8."
        ) from failure
    except tomllib.TOMLDecodeError as failure:
        raise SettingsError(
            f"The settings file {path} is not valid TOML: {failure}; correct that line."
        ) from failure
    # A path in the file is meant from where the file lies, not from wherever one works.
    if isinstance(files := values.get("vocabulary_files"), list):
        values["vocabulary_files"] = [_from_folder(file, path.parent) for file in files]
    for name in ("model_folder", "stock_file", "triage_file", "label_file", "crosswalk_file"):
        if values.get(name):
            values[name] = _from_folder(values[name], path.parent)
    return values


def _from_folder(file: Any, folder: Path) -> Any:
    return str(folder / Path(file).expanduser()) if isinstance(file, str) else file


def _read_variables(environment: Mapping[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for variable, text in environment.items():
        if not variable.startswith(_VARIABLE_PREFIX) or variable in _OTHER_VARIABLES:
            continue
        key = variable.removeprefix(_VARIABLE_PREFIX).lower()
        found |= _check_values({key: _parse_variable(key, text)}, origin=f"the variable {variable}")
    return found


def _parse_variable(key: str, text: str) -> Any:
    """Read a variable as the setting needs it: words stay words, the rest is as in TOML."""
    form = _Form.model_fields.get(key)
    default = None if form is None else form.default
    if isinstance(default, list) and not text.lstrip().startswith("["):
        return [text] if text else []
    if isinstance(default, bool | int | float | list):
        try:
            return tomllib.loads(f"value = {text}")["value"]
        except tomllib.TOMLDecodeError:
            return text
    return text


def _check_values(values: Mapping[str, Any], *, origin: str) -> dict[str, Any]:
    try:
        _Form.model_validate(dict(values))
    except ValidationError as failure:
        raise SettingsError(_explain(failure, origin=origin)) from failure
    return dict(values)


def _explain(failure: ValidationError, *, origin: str) -> str:
    first = failure.errors()[0]
    key = str(first["loc"][0])
    if first["type"] == "extra_forbidden":
        near = difflib.get_close_matches(key, setting_names(), n=1)
        hint = f"did you mean {near[0]!r}?" if near else "'voicelog reference settings' lists them."
        return f"In {origin}, {key!r} is not a setting; {hint}"
    what = first["msg"].removeprefix("Value error, ")
    what = what.removeprefix("Input should be ").removeprefix("a valid ")
    default = _Form.model_fields[key].default
    verb = "" if first["type"] == "value_error" else "should be "
    return (
        f"In {origin}, {key} = {first['input']!r}: {verb}{what}; "
        f"correct it, or leave it out to get {default!r}."
    )
