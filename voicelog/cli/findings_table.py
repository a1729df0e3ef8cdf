"""Findings as a person reads them: volume by volume, the gravest first, with the notes behind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import groupby

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from voicelog.checks.closing import VolumeFindings
from voicelog.checks.hazards import CAUTION
from voicelog.checks.rules import count_of, join_and
from voicelog.checks.volumes import VolumeKey
from voicelog.cli.terminal import safe
from voicelog.domain.finding import Finding, Severity
from voicelog.store.log import Log

_WIDEST = 110
_GUTTER = 11  # the longest severity and a gap
_STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "yellow", Severity.NOTICE: "cyan"}
_MOST_QUOTES = 3
_LONGEST_QUOTE = 70


def print_findings(found: Iterable[VolumeFindings], console: Console, *, log: Log) -> None:
    """Print findings; accepted ones stand last in each volume, with the reason.

    Args:
        found: in the order in which they are to be read; one volume is in memory at a time.
        console: where to.
        log: the log, for the words of the notes and the numbers of entries.
    """
    printer = _Printer(console, log)
    for its in found:
        for key, group in groupby(
            its.findings, key=lambda one: VolumeKey(one.accession, one.volume)
        ):
            named = key.volume if its.volume is None else its.volume.name
            printer.print_volume(key, named, list(group))
    printer.print_summary()


class _Printer:
    def __init__(self, console: Console, log: Log) -> None:
        self._console = console
        self._log = log
        self._find_number = log.volumes_one_by_one().find_number
        self._words: dict[int, str] = {}
        self._unaccepted: Counter[Severity] = Counter()
        self._accepted = 0
        self._first_open: Finding | None = None
        self._width = min(console.width, _WIDEST)

    def print_volume(self, key: VolumeKey, named: str | None, findings: list[Finding]) -> None:
        self._words = self._log.read_texts(
            {note for finding in findings for note in finding.notes[-_MOST_QUOTES:]}
        )
        title = " · ".join(filter(None, [key.accession, named])) or "The log as a whole"
        self._console.print(Text(f"\n{safe(title)}", style="bold"))
        cautions = [one for one in findings if one.code == CAUTION.code]
        others = [one for one in findings if one.code != CAUTION.code]
        self._count(others)
        for finding in others:
            if finding.accepted is None:
                self._print_finding(finding)
        for finding in others:
            if finding.accepted is not None:
                self._print_accepted(finding)
        if cautions:
            self._console.print(Text("  Cautions", style="bold"))
            for finding in cautions:
                self._print_lines("", "", [(finding.message, ""), (self._origin(finding), "dim")])

    def _count(self, findings: Iterable[Finding]) -> None:
        for finding in findings:
            if finding.accepted is not None:
                self._accepted += 1
                continue
            self._unaccepted[finding.severity] += 1
            if self._first_open is None and finding.is_open:
                self._first_open = finding

    def print_summary(self) -> None:
        """Print how many findings of each severity are open, and how to accept one."""
        counted = [
            count_of(number, str(severity))
            for severity in Severity
            if (number := self._unaccepted[severity])
        ]
        said = join_and(counted) if counted else "Nothing to look at"
        more = f"; {self._accepted} accepted" if self._accepted else ""
        self._console.print(Text(f"\n{said}{more}.", style="bold"))
        first = self._first_open
        if first is not None:
            self._console.print(
                Text(
                    safe(
                        f"To accept one: voicelog check --log {self._log.folder} "
                        f"--accept {first.id} --reason 'why it is right so'"
                    ),
                    style="dim",
                ),
                soft_wrap=True,
            )

    def _print_finding(self, finding: Finding) -> None:
        self._print_lines(
            str(finding.severity),
            _STYLES[finding.severity],
            [
                (finding.message, ""),
                (f"→ {finding.remedy}", "italic"),
                (self._origin(finding), "dim"),
            ],
        )

    def _print_accepted(self, finding: Finding) -> None:
        self._print_lines(
            "accepted",
            "dim green",
            [
                (finding.message, "dim"),
                (f"because: {finding.accepted}", "dim italic"),
                (f"{finding.code} {finding.id}", "dim"),
            ],
        )

    def _origin(self, finding: Finding) -> str:
        entry = None if finding.entry is None else self._find_number(finding.entry)
        quotes = [
            f"note {number} “{_shorten(self._words.get(number, ''))}”"
            for number in finding.notes[-_MOST_QUOTES:]
        ]
        more = len(finding.notes) - _MOST_QUOTES
        parts = [
            f"{finding.code} {finding.id}",
            *([f"entry {entry}"] if entry is not None else []),
            *([count_of(more, "earlier note")] if more > 0 else []),
            *quotes,
        ]
        return " · ".join(parts)

    def _print_lines(self, word: str, style: str, lines: Sequence[tuple[str, str]]) -> None:
        grid = Table.grid(padding=(0, 1, 0, 0), pad_edge=False)
        grid.add_column(width=_GUTTER - 3, no_wrap=True)
        grid.add_column(width=self._width - _GUTTER, overflow="fold")
        for rank, (text, look) in enumerate(lines):
            grid.add_row(Text(word if rank == 0 else "", style=style), Text(safe(text), style=look))
        self._console.print(Padding(grid, (0, 0, 0, 2)))


def _key_of(finding: Finding) -> VolumeKey:
    return VolumeKey(finding.accession, finding.volume)


def _shorten(text: str) -> str:
    if len(text) <= _LONGEST_QUOTE:
        return text
    return f"{text[:_LONGEST_QUOTE].rsplit(' ', 1)[0]} …"
