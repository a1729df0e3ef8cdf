"""Findings as a person reads them: volume by volume, the gravest first, with the notes behind."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from voicelog.checks.hazards import CAUTION
from voicelog.checks.rules import count_of, join_and
from voicelog.checks.volumes import VolumeKey, group_volumes
from voicelog.cli.terminal import safe
from voicelog.domain.finding import Finding, Severity
from voicelog.store.log import Log

_WIDEST = 110
_GUTTER = 11  # the longest severity and a gap
_STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "yellow", Severity.NOTICE: "cyan"}
_MOST_QUOTES = 3
_LONGEST_QUOTE = 70


def print_findings(findings: Sequence[Finding], console: Console, *, log: Log) -> None:
    """Print findings; accepted ones stand last in each volume, with the reason.

    Args:
        findings: in the order in which they are to be read.
        console: where to.
        log: the log, for the words of the notes, the numbers of entries, and names.
    """
    printer = _Printer(console, log, findings)
    for key, group in groupby(findings, key=lambda one: VolumeKey(one.accession, one.volume)):
        printer.print_volume(key, list(group))
    printer.print_summary()


class _Printer:
    def __init__(self, console: Console, log: Log, findings: Sequence[Finding]) -> None:
        entries = list(log.iter_entries())
        self._console = console
        self._numbers = {entry.id: number for number, entry in entries}
        self._names = {
            volume.key: volume.name for volume in group_volumes(entry for _, entry in entries)
        }
        self._findings = findings
        self._folder = log.folder
        wanted = {note for finding in findings for note in finding.notes}
        self._words = {note.number: note.text for note in log.iter_notes() if note.number in wanted}
        self._width = min(console.width, _WIDEST)

    def print_volume(self, key: VolumeKey, findings: list[Finding]) -> None:
        named = self._names.get(key, key.volume)
        title = " · ".join(filter(None, [key.accession, named])) or "The log as a whole"
        self._console.print(Text(f"\n{safe(title)}", style="bold"))
        cautions = [one for one in findings if one.code == CAUTION.code]
        others = [one for one in findings if one.code != CAUTION.code]
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

    def print_summary(self) -> None:
        """Print how many findings of each severity are open, and how to accept one."""
        those = [one for one in self._findings if one.code != CAUTION.code]
        unaccepted = [one for one in those if one.accepted is None]
        accepted = len(those) - len(unaccepted)
        counted = [
            count_of(number, str(severity))
            for severity in Severity
            if (number := sum(one.severity is severity for one in unaccepted))
        ]
        said = join_and(counted) if counted else "Nothing to look at"
        more = f"; {accepted} accepted" if accepted else ""
        self._console.print(Text(f"\n{said}{more}.", style="bold"))
        first = next((one for one in unaccepted if one.is_open), None)
        if first is not None:
            self._console.print(
                Text(
                    safe(
                        f"To accept one: voicelog check --log {self._folder} "
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
        entry = self._numbers.get(finding.entry or "")
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


def _shorten(text: str) -> str:
    if len(text) <= _LONGEST_QUOTE:
        return text
    return f"{text[:_LONGEST_QUOTE].rsplit(' ', 1)[0]} …"
