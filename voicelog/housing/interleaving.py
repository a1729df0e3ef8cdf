"""Where interleaving sheets go, and of which kind.

Interleaving is decided per opening: a sheet where either facing page carries something
that can offset, abrade or stick; none where both facing pages are blank or an overlay
covers the page (common practice, no published source). What counts as such stands in
``interleaving_rules.toml``. No buffered paper lies against a cyanotype (ccaha.org, "ISO
Standards for Housing Photographs").
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib import resources

from voicelog.domain.entry import Entry, Kind
from voicelog.housing.openings import Opening, Page, find_openings
from voicelog.housing.volumes import HousedVolume, is_on_its_page

_CALLS = ("offset", "abrade", "stick")
_FIELDS = ("item_type", "condition", "attachment")
Terms = Mapping[str, frozenset[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class InterleavingRules:
    """The terms that call for a sheet, and those that no buffered sheet may touch.

    Attributes:
        calls: for "offset", "abrade" and "stick": the terms of each field that can do it.
        unbuffered: item types that want unbuffered paper.
        leave_alone: conditions that keep everybody's fingers from an opening.
    """

    calls: Mapping[str, Terms]
    unbuffered: frozenset[str]
    leave_alone: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Interleaf:
    """One sheet between two facing pages.

    Attributes:
        opening: where it goes.
        buffered: whether buffered paper is right there.
        reasons: what calls for it, in plain words, each once.
    """

    opening: Opening
    buffered: bool
    reasons: tuple[str, ...]

    @property
    def place(self) -> str:
        """Where it goes, in words."""
        return self.opening.title


@dataclass(frozen=True, slots=True, kw_only=True)
class Interleaving:
    """The sheets of one volume.

    Attributes:
        openings: how many openings the volume has.
        sheets: the sheets, in the order of the openings.
        unknown: openings of which the log knows neither page; no sheet is counted for them.
        left_alone: openings that get no sheet until somebody has decided about a hazard.
        overlay: what covers the pages and makes sheets needless, or None.
    """

    openings: int
    sheets: tuple[Interleaf, ...]
    unknown: tuple[Opening, ...]
    left_alone: tuple[Opening, ...]
    overlay: str | None

    def count(self, *, buffered: bool) -> int:
        """Return how many sheets of one kind there are."""
        return sum(sheet.buffered is buffered for sheet in self.sheets)


def load_interleaving_rules() -> InterleavingRules:
    """Return the rules that come with voicelog."""
    text = (resources.files("voicelog.housing") / "interleaving_rules.toml").read_text("utf-8")
    rows = tomllib.loads(text)
    return InterleavingRules(
        calls={
            call: {field: frozenset(rows[call].get(field, ())) for field in _FIELDS}
            for call in _CALLS
        },
        unbuffered=frozenset(rows["unbuffered"]["item_type"]),
        leave_alone=frozenset(rows["leave_alone"]["condition"]),
    )


def plan_interleaving(volume: HousedVolume, rules: InterleavingRules) -> Interleaving:
    """Return where sheets go in a volume."""
    openings = find_openings(volume)
    overlay = volume.entry.overlay if volume.entry is not None else None
    left_alone = tuple(opening for opening in openings if _is_hazardous(opening, rules))
    open_to_all = [opening for opening in openings if opening not in left_alone]
    sheets = [] if overlay else list(_find_sheets(open_to_all, rules))
    return Interleaving(
        openings=len(openings),
        sheets=tuple(sheets),
        unknown=tuple(
            opening for opening in openings if not (opening.left.is_known or opening.right.is_known)
        ),
        left_alone=left_alone,
        overlay=overlay,
    )


def _is_hazardous(opening: Opening, rules: InterleavingRules) -> bool:
    rows = (*opening.left.rows, *opening.right.rows, *opening.inserts)
    return any(rules.leave_alone & set(entry.condition) for _, entry in rows)


def _find_sheets(openings: Iterable[Opening], rules: InterleavingRules) -> Iterator[Interleaf]:
    for opening in openings:
        carried = [*_carried(opening.left), *_carried(opening.right)]
        carried += [entry for _, entry in opening.inserts if is_on_its_page(entry)]
        reasons = tuple(
            dict.fromkeys(reason for entry in carried for reason in _reasons(entry, rules))
        )
        if reasons:
            touches = {term for entry in carried for term in entry.item_type}
            yield Interleaf(
                opening=opening,
                buffered=not touches & rules.unbuffered,
                reasons=reasons,
            )


def _carried(page: Page) -> Iterator[Entry]:
    """What a page carries now: the leaf itself and the items that are still on it.

    Of something that is gone, only what it left behind counts.
    """
    for _, entry in page.rows:
        if entry.kind is not Kind.ITEM or is_on_its_page(entry):
            yield entry
        else:
            yield _left_behind(entry)


def _left_behind(entry: Entry) -> Entry:
    residues = {"adhesive residue", "adhesive stain", "tape stain", "sticky surface", "rust stain"}
    return Entry(
        id=entry.id,
        kind=Kind.LEAF,
        leaf=entry.leaf,
        side=entry.side,
        condition=tuple(term for term in entry.condition if term in residues),
    )


def _reasons(entry: Entry, rules: InterleavingRules) -> Iterator[str]:
    for call, terms in rules.calls.items():
        for field in _FIELDS:
            for term in getattr(entry, field):
                if term in terms[field]:
                    yield f"{term} can {call}"
