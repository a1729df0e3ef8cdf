"""Commands as documents show them: in indented blocks, and inside sentences."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass

_HERE = re.compile(r" <<'(\w+)'$")
_INSIDE = re.compile(r"`(voicelog [^`]+)`")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One command of a document.

    Attributes:
        line: as it stands there.
        arguments: what the shell hands to the program.
        typed: what it reads from standard input.
        answer: what the document says that it prints, line by line.
    """

    line: str
    arguments: tuple[str, ...]
    typed: str = ""
    answer: tuple[str, ...] = ()


def read_blocks(text: str) -> Iterator[list[str]]:
    """Yield the indented blocks of a document, each without its indentation."""
    block: list[str] = []
    for line in [*text.splitlines(), "end"]:
        if line.startswith("    ") or (block and not line.strip()):
            block.append(line[4:])
        elif block:
            yield block
            block = []


def read_shown(text: str) -> Iterator[Shown]:
    """Yield the commands of a document's blocks, in order.

    "$ " may stand before one. What stands behind it, in the same block or in one without a
    command, is what it answers.
    """
    lines = iter([line for block in read_blocks(text) for line in block])
    answers: list[list[str]] = []
    found: list[tuple[str, str]] = []
    for line in lines:
        command = line.removeprefix("$ ")
        if not command.startswith(("voicelog ", "export ")):
            if answers:
                answers[-1].append(line.rstrip())
            continue
        while command.endswith("\\"):
            command = command.removesuffix("\\") + next(lines).strip()
        typed = ""
        if here := _HERE.search(command):
            typed = "".join(f"{each}\n" for each in iter(lambda: next(lines), here[1]))
        found.append((_HERE.sub("", command), typed))
        answers.append([])
    for (command, typed), answer in zip(found, answers, strict=True):
        yield Shown(
            line=command,
            arguments=tuple(shlex.split(command)),
            typed=typed,
            answer=tuple(line for line in answer if line),
        )


def read_inside(text: str) -> Iterator[str]:
    """Yield the commands that stand inside sentences."""
    yield from _INSIDE.findall(re.sub(r"\s*\n\s*", " ", text))
