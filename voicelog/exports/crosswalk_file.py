"""Reading the crosswalk: the shipped one, and what a repository wants different.

The shipped ``crosswalk.toml`` is the documentation of every line. A repository's own file holds
only what it wants different. Both go through the same checks, and a wrong line is named.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from voicelog.errors import SettingsError
from voicelog.exports.crosswalk import (
    FIELDS,
    NOWHERE,
    AccessionFacts,
    ActionTerm,
    Crosswalk,
    FormTerm,
    Level,
    RepositoryCodes,
    Texts,
)

_FINDING_AID_NOTES = (
    "physfacet",
    "scopecontent",
    "phystech",
    "processinfo",
    "odd",
    "altformavail",
    "relatedmaterial",
)
_FINDING_AID_FIELDS = frozenset(
    {
        "attachment",
        "adhesion",
        "binding",
        "support",
        "overlay",
        "condition",
        "cautions",
        "action",
        "caption",
        "blank",
        "position",
        "mark",
        "remark",
        "images",
        "relations",
        "status",
        "doubts",
        "recorded_at",
        "handler",
    }
)
_CHOICES: Mapping[str, tuple[frozenset[str], tuple[str, ...]]] = MappingProxyType(
    {
        "ead3": (_FINDING_AID_FIELDS, _FINDING_AID_NOTES),
        "ead2002": (_FINDING_AID_FIELDS, _FINDING_AID_NOTES),
        "marcxml": (
            frozenset({"binding", "support", "overlay", "caption", "remark", "cautions"}),
            ("300$b", "340$a", "340$e", "500", "520", "563", "590"),
        ),
        "mods": (
            frozenset(
                {
                    "attachment",
                    "adhesion",
                    "condition",
                    "action",
                    "caption",
                    "position",
                    "images",
                    "mark",
                    "relations",
                    "cautions",
                    "remark",
                    "doubts",
                    "handler",
                }
            ),
            ("note", "physicalDescription"),
        ),
        "dc": (
            frozenset(FIELDS),
            (
                "title",
                "identifier",
                "type",
                "format",
                "description",
                "date",
                "relation",
                "coverage",
                "rights",
                "source",
            ),
        ),
    }
)
"""For each format the fields whose place can be chosen, and the places to choose from."""

_NEVER_SILENT = frozenset({"status", "access"})
"""What has to show wherever it goes: that nobody has confirmed an entry, that it is restricted."""

_ISIL = re.compile(r"[A-Za-z]{1,4}-[A-Za-z0-9:/-]{1,11}")  # ISO 15511: prefix, dash, identifier
_DATE = re.compile(r"\d{4}(-\d\d(-\d\d)?)?")
_HEADER = re.compile(r"\s*\[([^\[\]]+)\]\s*(?:#.*)?")
_KEY = re.compile(r"\s*([\w.\"' -]+?)\s*=")


def load_crosswalk(own: Path | None = None) -> Crosswalk:
    """Return the shipped crosswalk with what a repository wants different.

    Args:
        own: the repository's file, or None.

    Raises:
        SettingsError: the file can't be read or is wrong; the sentence names the line.
    """
    shipped_text = resources.files("voicelog.exports").joinpath("crosswalk.toml").read_text("utf-8")
    shipped = tomllib.loads(shipped_text)
    values: dict[str, Any] = shipped
    if own is not None:
        text = _read(own)
        changes = _parse(text, own)
        values = _merge(shipped, changes)
        try:
            _Form.model_validate(values)
        except ValidationError as failure:
            raise _explain(failure, text, own) from failure
        _check_places(changes, shipped, text, own)
    return _freeze(_Form.model_validate(values))


def _check_isil(text: str) -> str:
    if text and not _ISIL.fullmatch(text):
        raise ValueError(f"{text!r} is no ISIL; write a prefix, a dash and an identifier: GB-0099")
    return text


def _check_date(text: str) -> str:
    if text and not _DATE.fullmatch(text):
        raise ValueError(f"{text!r} is no date; write 2031, 2031-04 or 2031-04-18")
    return text


def _check_template(text: str) -> str:
    try:
        text.format(volume="", type="", place="", enclosure="")
    except (KeyError, IndexError, ValueError):
        raise ValueError(
            f"{text!r} has something else in braces than volume, type, place or enclosure"
        ) from None
    return text


_Template = Annotated[str, AfterValidator(_check_template)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _Repository(_Strict):
    marc_code: str
    isil: Annotated[str, AfterValidator(_check_isil)]
    language: Annotated[str, Field(pattern="^[a-z]{3}$")]
    rules: Annotated[str, Field(min_length=1)]


class _Texts(_Strict):
    unconfirmed: Annotated[str, Field(min_length=1)]
    restricted: Annotated[str, Field(min_length=1)]
    terms_of_use: str
    description: str
    volume_title: _Template
    no_volume_title: Annotated[str, Field(min_length=1)]
    item_title: _Template


class _Accession(_Strict):
    title: str = ""
    source: str = ""
    method: str = ""
    date: Annotated[str, AfterValidator(_check_date)] = ""
    custodial_history: str = ""


class _Action(_Strict):
    term: Annotated[str, Field(min_length=1)]
    list: str = ""
    method: _Template = ""


class _Places(_Strict):
    fields: dict[str, str]


class _FindingAid(_Places):
    # Not strict: in a TOML file a level is a word.
    level: Annotated[Level, Field(strict=False)]


class _FormTerm(_Strict):
    term: str
    list: str
    address: str


class _Marc(_Places):
    form: _FormTerm
    actions: dict[str, _Action]


class _Form(_Strict):
    """The door where outsiders write."""

    repository: _Repository
    texts: _Texts
    accessions: dict[str, _Accession]
    labels: dict[str, str]
    ead3: _FindingAid
    ead2002: _FindingAid
    marcxml: _Marc
    mods: _Places
    dc: _Places


def _freeze(form: _Form) -> Crosswalk:
    return Crosswalk(
        repository=RepositoryCodes(**form.repository.model_dump()),
        texts=Texts(**form.texts.model_dump()),
        accessions=MappingProxyType(
            {key: AccessionFacts(**one.model_dump()) for key, one in form.accessions.items()}
        ),
        labels=MappingProxyType(dict(form.labels)),
        places=MappingProxyType(
            {name: MappingProxyType(dict(getattr(form, name).fields)) for name in _CHOICES}
        ),
        levels=MappingProxyType({"ead3": form.ead3.level, "ead2002": form.ead2002.level}),
        actions=MappingProxyType(
            {key: ActionTerm(**one.model_dump()) for key, one in form.marcxml.actions.items()}
        ),
        form=FormTerm(**form.marcxml.form.model_dump()),
    )


def _merge(base: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in changes.items():
        below = merged.get(key)
        if isinstance(below, dict) and isinstance(value, dict):
            merged[key] = _merge(below, value)
        else:
            merged[key] = value
    return merged


def _check_places(
    changes: Mapping[str, Any], shipped: Mapping[str, Any], text: str, path: Path
) -> None:
    for field in changes.get("labels", {}):
        if field not in shipped["labels"]:
            raise _wrong(path, text, ("labels", field), f"{field!r} has no label here")
    for name, (movable, places) in _CHOICES.items():
        usual: Mapping[str, str] = shipped[name]["fields"]
        for field, place in changes.get(name, {}).get("fields", {}).items():
            if field not in usual:
                what = f"{field!r} is no field of an entry; 'voicelog reference records' lists them"
                raise _wrong(path, text, (name, "fields", field), what)
            allowed = places if field in movable else (usual[field],)
            if field not in _NEVER_SILENT:
                allowed = (*allowed, NOWHERE)
            if place not in allowed:
                what = f"{field} can't go to {place!r}; write one of {', '.join(allowed)}"
                raise _wrong(path, text, (name, "fields", field), what)


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except OSError as failure:
        raise SettingsError(
            f"The crosswalk {path} can't be read ({(failure.strerror or str(failure)).lower()}); "
            "check the setting crosswalk_file."
        ) from failure
    except UnicodeDecodeError as failure:
        raise SettingsError(
            f"The crosswalk {path} is not UTF-8 text; save it as UTF-8."
        ) from failure


def _parse(text: str, path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as failure:
        raise SettingsError(
            f"The crosswalk {path} is not valid TOML: {failure}; correct that line."
        ) from failure


def _explain(failure: ValidationError, text: str, path: Path) -> SettingsError:
    first = failure.errors()[0]
    loc = tuple(str(part) for part in first["loc"])
    if first["type"] == "extra_forbidden":
        return _wrong(
            path, text, loc, f"{loc[-1]!r} is nothing that a crosswalk has; remove that line"
        )
    what = first["msg"].removeprefix("Value error, ")
    what = what if what[:1] in "'\"" else f"{loc[-1]}: {what[:1].lower()}{what[1:]}"
    return _wrong(path, text, loc, f"{what}; correct it, or remove the line to get the usual")


def _wrong(path: Path, text: str, loc: tuple[str, ...], what: str) -> SettingsError:
    return SettingsError(f"The crosswalk {path}, line {_find_line(text, loc)}: {what}.")


def _find_line(text: str, loc: tuple[str, ...]) -> int:
    """Return the number of the line that gives a value, or of the nearest table around it."""
    best, best_length, table = 1, 0, ""
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.fullmatch(line):
            table = _plain_key(header[1])
            said = table
        elif key := _KEY.match(line):
            said = ".".join(part for part in (table, _plain_key(key[1])) if part)
        else:
            continue
        length = len(said)
        whole = ".".join(loc)
        if (whole == said or whole.startswith(f"{said}.")) and length >= best_length:
            best, best_length = number, length
    return best


def _plain_key(key: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in key.split("."))
