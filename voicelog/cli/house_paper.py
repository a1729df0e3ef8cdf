"""The paper of ``voicelog house``: which files are asked for, and how they are written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from voicelog.cli.terminal import say
from voicelog.domain.entry import Access
from voicelog.errors import UsageError
from voicelog.exports.target import new_target
from voicelog.housing.paper.box_paper import print_box_paper
from voicelog.housing.paper.label_sheets import print_alignment, print_labels
from voicelog.housing.paper.labels import Label, make_labels
from voicelog.housing.paper.layouts import LabelLayout
from voicelog.housing.paper.preview import draw_preview
from voicelog.housing.paper.ranking_page import print_ranking
from voicelog.housing.plan import VolumePlan
from voicelog.housing.triage import Ranked
from voicelog.vocabulary import Vocabulary
from voicelog.vocabulary.loading import load_closing

_RANGE = re.compile(r"(\d+)(?:-(\d+))?")
_MOST_ENTRIES = 1_000_000
_NAMED_AT_ONCE = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperOrder:
    """What is to be printed, and how.

    Attributes:
        labels: the file for labels on label sheets, or None.
        paper: the file for box labels, bench pages, slips and the list, or None.
        ranking: the file for the ranking, or None.
        alignment: the file for the page that a printer is tried with, or None.
        layout: the label sheet.
        skip: how many labels of the first sheet were used before.
        entries: the entries that labels are wanted for, or None for all.
        preview: whether a picture of each first page is written as well.
    """

    labels: Path | None
    paper: Path | None
    ranking: Path | None
    alignment: Path | None
    layout: LabelLayout
    skip: int
    entries: frozenset[int] | None
    preview: bool

    @property
    def needs_a_log(self) -> bool:
        """Whether there is anything to print that says something of a volume."""
        return any((self.labels, self.paper, self.ranking))

    @property
    def page_mm(self) -> tuple[float, float]:
        """Width and height of the paper: that of the label sheet."""
        return self.layout.page_width_mm, self.layout.page_height_mm


def make_order(layout: LabelLayout, *, entries: str | None, **others: Any) -> PaperOrder:
    """Return the order that the command line makes.

    Raises:
        UsageError: ``entries`` is no list of numbers and ranges.
    """
    return PaperOrder(layout=layout, entries=parse_entries(entries), **others)


def parse_entries(text: str | None) -> frozenset[int] | None:
    """Return the entry numbers that a list names, or None for None.

    >>> sorted(parse_entries("12-14,21") or ())
    [12, 13, 14, 21]

    Raises:
        UsageError: it is no list of numbers and ranges.
    """
    if text is None:
        return None
    wanted: set[int] = set()
    for part in text.replace(" ", "").split(","):
        found = _RANGE.fullmatch(part)
        first = int(found[1]) if found else 0
        last = int(found[2] or found[1]) if found else 0
        if not 0 < first <= last <= _MOST_ENTRIES:
            raise UsageError(
                f"--entries {text!r} is not a list of entry numbers; write for example 12-18,21."
            )
        wanted.update(range(first, last + 1))
    return frozenset(wanted)


def print_alignment_page(order: PaperOrder, target: Path) -> None:
    """Write the page that a printer is tried with."""
    _write(order, "--alignment", target, print_alignment(order.layout))
    say(f"A page to try the printer with, for {order.layout.name}: {target}.")


def print_order(
    order: PaperOrder,
    plans: tuple[VolumePlan, ...],
    ranking: tuple[Ranked, ...],
    vocabulary: Vocabulary,
) -> None:
    """Write every file about volumes that was asked for, and say what is in it."""
    labels = make_labels(plans, vocabulary, only=order.entries)
    if order.labels is not None:
        _print_labels(order, order.labels, labels, vocabulary)
    if order.paper is not None:
        made = print_box_paper(plans, labels, vocabulary, size_mm=order.page_mm)
        _write(order, "--paper", order.paper, made.pdf)
        say(f"Box labels, bench pages, slips and the label list: {order.paper} ({made.pages} p.).")
    if order.ranking is not None:
        _write(order, "--ranking", order.ranking, print_ranking(ranking, size_mm=order.page_mm))
        say(f"The volumes by their need of care: {order.ranking}.")
    _tell_of_restricted(order, plans)


def _print_labels(
    order: PaperOrder, target: Path, labels: tuple[Label, ...], vocabulary: Vocabulary
) -> None:
    if not labels:
        say("No labels: nothing was removed, and no envelope has a number yet.")
        return
    sheets = print_labels(labels, order.layout, vocabulary, closing=load_closing(), skip=order.skip)
    _write(order, "--labels", target, sheets.pdf)
    say(
        f"{len(labels)} {'label' if len(labels) == 1 else 'labels'} on {order.layout.name}: "
        f"{target} ({sheets.pages} p.)."
    )
    if sheets.shortened:
        named = _name_some(sheets.shortened)
        say(f"Shortened to fit: {named}. The list (--paper) has every text in full.")
    if sheets.unprinted:
        named = _name_some(sheets.unprinted)
        say(f"Characters that no font here has stand as \ufffd on: {named}.")


def _name_some(labels: Sequence[Label]) -> str:
    named = ", ".join(label.heading for label in labels[:_NAMED_AT_ONCE])
    left = len(labels) - _NAMED_AT_ONCE
    return f"{named} and {left} more" if left > 0 else named


def _tell_of_restricted(order: PaperOrder, plans: tuple[VolumePlan, ...]) -> None:
    restricted = sum(
        entry.access is Access.RESTRICTED for plan in plans for _, entry in plan.volume.rows
    )
    if restricted and (order.labels or order.paper):
        say(
            f"{restricted} restricted {'entry' if restricted == 1 else 'entries'}: caption, "
            "remark and date are left out on paper; --include-restricted prints them."
        )


def _write(order: PaperOrder, option: str, path: Path, pdf: bytes) -> None:
    write_bytes(path, pdf, option=option)
    if order.preview:
        write_bytes(path.with_suffix(".png"), draw_preview(pdf), option=option)


def write_bytes(path: Path, content: bytes, *, option: str) -> None:
    """Write a file that is complete or not there at all.

    Args:
        path: the file.
        content: all of it.
        option: the option that named it, for when it can't be written.

    Raises:
        UsageError: there is no such folder, or something else has that name.
        StoreError: it could not be written.
    """
    if not path.resolve().parent.is_dir():
        raise UsageError(f"The folder of {path} is not there; make it, or change {option}.")
    if path.exists() and not path.is_file():
        raise UsageError(f"{path} is not a file; name a file with {option}.")
    with new_target(path) as unfinished:
        unfinished.path.write_bytes(content)
        unfinished.seal()
        unfinished.take_name()
