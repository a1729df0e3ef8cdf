"""voicelog check: what a person should look at before the lid closes."""

from __future__ import annotations

import difflib
import getpass
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import click

from voicelog.checks.closing import VolumeFindings
from voicelog.checks.scans.looking import SeenScans, look_at_scans
from voicelog.cli.findings_table import print_findings
from voicelog.cli.options import json_option, log_option, scans_option
from voicelog.cli.taking import Reporter, reporting
from voicelog.cli.terminal import make_console, write_json_lines
from voicelog.domain.finding import Finding, format_finding_record
from voicelog.errors import ParseError, UsageError
from voicelog.extraction.closing_count import ClosingCount, parse_closing_count
from voicelog.settings import Settings, read_settings
from voicelog.store.acceptance import Acceptance
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog, now_text
from voicelog.wiring import MADE_BY
from voicelog.wiring.closing import check_volumes, find_scans


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What the person at the keyboard decides about findings.

    Attributes:
        accept: ids or codes of findings to accept.
        reopen: ids or codes of findings whose acceptance is taken back.
        reason: why.
        by: who decides.
    """

    accept: tuple[str, ...]
    reopen: tuple[str, ...]
    reason: str
    by: str


@click.command()
@log_option
@json_option
@scans_option
@click.option(
    "--scan-name",
    "scan_names",
    multiple=True,
    metavar="EXAMPLE",
    help="How names tell what a scan shows: '014r.tif is leaf 14 recto', 'in order', or "
    "'image numbers'; may be repeated.",
)
@click.option(
    "--imaged-by",
    type=click.Choice(["pages", "openings"]),
    help="What one image shows where the notes don't say; else the setting.",
)
@click.option(
    "--count",
    "counts",
    multiple=True,
    metavar="WORDS",
    help="What lies in a box: 'box one holds the volume, two folders and nine envelopes'.",
)
@click.option(
    "--accept",
    multiple=True,
    metavar="FINDING",
    help="Accept a finding by its id, or all of a kind by their code; needs --reason.",
)
@click.option("--reopen", multiple=True, metavar="FINDING", help="Take an acceptance back.")
@click.option("--reason", default="", metavar="WORDS", help="Why it is accepted.")
@click.option("--by", default="", metavar="NAME", help="Who accepts; else the setting handler.")
def check(
    folder: Path,
    scan_folders: tuple[str, ...],
    scan_names: tuple[str, ...],
    imaged_by: str | None,
    counts: tuple[str, ...],
    *,
    as_json: bool,
    **verdict: str | tuple[str, ...],
) -> int:
    """Check a log before the lid closes.

    Ends with 1 where an error or a warning is left that nobody accepted.
    """
    settings = read_settings(
        overrides={"scan_names": list(scan_names) or None, "imaged_by": imaged_by}
    )
    decided = _read_verdict(verdict, settings)
    said = _read_counts(counts)
    with reporting() as reporter:
        with Log.open(folder) as log:
            scans = _look(log, scan_folders, settings, reporter)
        find = partial(check_volumes, settings=settings, counts=said, scans=scans)
        if decided.accept or decided.reopen:
            with Log.open(folder) as log, log.standing_still():
                acceptances = _decide(lambda: _flatten(find(log)), decided)
            with WritableLog.open_to_write(folder, made_by=MADE_BY) as writable:
                writable.add_acceptances(acceptances)
            reporter.say(_tell_decided(acceptances))
    with Log.open(folder) as log, log.standing_still():
        found = _Watched(find(log))
        if as_json:
            _write_records(found, log)
        else:
            print_findings(found, make_console(), log=log)
    return 1 if found.is_any_open else 0


def _write_records(found: Iterable[VolumeFindings], log: Log) -> None:
    find_number = log.volumes_one_by_one().find_number
    write_json_lines(
        format_finding_record(one, number=None if one.entry is None else find_number(one.entry))
        for one in _flatten(found)
    )


def _flatten(found: Iterable[VolumeFindings]) -> Iterator[Finding]:
    for its in found:
        yield from its.findings


class _Watched:
    """Findings on their way to whoever shows them; afterwards it knows whether any was open."""

    def __init__(self, found: Iterable[VolumeFindings]) -> None:
        self._found = found
        self.is_any_open = False

    def __iter__(self) -> Iterator[VolumeFindings]:
        for its in self._found:
            self.is_any_open |= any(finding.is_open for finding in its.findings)
            yield its


def _read_verdict(options: dict[str, str | tuple[str, ...]], settings: Settings) -> Verdict:
    reason = " ".join(str(options["reason"]).split())
    verdict = Verdict(
        accept=tuple(options["accept"]),
        reopen=tuple(options["reopen"]),
        reason=reason,
        by=str(options["by"]) or settings.handler or _login_name(),
    )
    if verdict.accept and not reason:
        raise UsageError("Accepting a finding needs a reason; add --reason 'why it is right so'.")
    if reason and not verdict.accept:
        raise UsageError("--reason says why something is accepted; add --accept and its id.")
    return verdict


def _login_name() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # Before Python 3.13 a user id without a name is a KeyError.
        return f"user {os.getuid()}"


def _read_counts(counts: Sequence[str]) -> tuple[ClosingCount, ...]:
    try:
        return tuple(map(parse_closing_count, counts))
    except ParseError as failure:
        raise UsageError(str(failure)) from failure


def _look(
    log: Log, folders: Sequence[str], settings: Settings, reporter: Reporter
) -> SeenScans | None:
    if not folders:
        return None
    reporter.begin("Reading the scans")
    scan_set = find_scans(log, folders, settings, on_read=reporter.reached)
    reporter.begin("Looking at the scans")
    return look_at_scans(scan_set, on_seen=reporter.reached)


def _decide(find: Callable[[], Iterable[Finding]], verdict: Verdict) -> list[Acceptance]:
    at = now_text()
    wishes = [
        *((one, verdict.reason) for one in verdict.accept),
        *((one, None) for one in verdict.reopen),
    ]
    chosen: list[list[Finding]] = [[] for _ in wishes]
    for finding in find():
        for (wanted, reason), its in zip(wishes, chosen, strict=True):
            is_to_decide = (finding.accepted is None) == (reason is not None)
            if wanted == finding.id or (wanted == finding.code and is_to_decide):
                its.append(finding)
    for (wanted, _), its in zip(wishes, chosen, strict=True):
        if not its:
            raise UsageError(_explain_unknown(wanted, find()))
    return [
        Acceptance(
            finding=finding.id,
            code=finding.code,
            message=finding.message,
            reason=reason,
            by=verdict.by,
            at=at,
        )
        for (_, reason), its in zip(wishes, chosen, strict=True)
        for finding in its
    ]


def _explain_unknown(wanted: str, findings: Iterable[Finding]) -> str:
    near = difflib.get_close_matches(wanted, _iter_names(findings), n=1)
    hint = f"did you mean {near[0]!r}?" if near else "give the id or the code that the check shows."
    return f"This check finds no {wanted!r} to decide about; {hint} Nothing was changed."


def _iter_names(findings: Iterable[Finding]) -> Iterator[str]:
    codes: set[str] = set()
    for finding in findings:
        yield finding.id
        if finding.code not in codes:
            codes.add(finding.code)
            yield finding.code


def _tell_decided(acceptances: Sequence[Acceptance]) -> str:
    accepted = sum(one.reason is not None for one in acceptances)
    reopened = len(acceptances) - accepted
    parts = [
        *([f"{accepted} accepted"] if accepted else []),
        *([f"{reopened} opened again"] if reopened else []),
    ]
    return f"Findings: {', '.join(parts)}."
