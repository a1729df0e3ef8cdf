"""Tables that a repository writes for itself, in TOML: read, and held against their form."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from voicelog.errors import HousingError

Form = TypeVar("Form", bound=BaseModel)


def read_table(path: Path, *, what: str, setting: str) -> str:
    """Return the text of a table.

    Args:
        path: the file.
        what: what it is, as a sentence about it begins: "table of weights".
        setting: the setting that names it.

    Raises:
        HousingError: it can't be read.
    """
    try:
        return path.read_text(encoding="utf-8")
    except OSError as failure:
        raise HousingError(
            f"The {what} {path} can't be read ({failure.strerror}); correct the setting {setting}."
        ) from failure
    except UnicodeDecodeError as failure:
        raise HousingError(f"The {what} {path} is not UTF-8 text; save it as UTF-8.") from failure


def parse_toml(text: str, *, origin: str) -> dict[str, Any]:
    """Return the values of a table.

    Raises:
        HousingError: it is no TOML; the sentence names the line.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as failure:
        raise HousingError(
            f"{origin} is not valid TOML: {failure}; correct that line."
        ) from failure


def parse_table(text: str, form: type[Form], *, origin: str) -> Form:
    """Return a table in its form.

    Args:
        text: the table.
        form: what it must hold.
        origin: what to call it when something in it is wrong.

    Raises:
        HousingError: a value makes no sense; the sentence names its place.
    """
    try:
        return form.model_validate(parse_toml(text, origin=origin))
    except ValidationError as failure:
        first = failure.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise HousingError(
            f"{origin} can't be used: {place}: {first['msg']}. Correct it and try again."
        ) from failure
