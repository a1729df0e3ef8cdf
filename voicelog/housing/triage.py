"""Which volume needs care first: a sum of named parts, all of them shown.

A part counts something in the log of a volume and adds points for it: its weight times
count / full_at, at most its weight. The weights are a table that the repository edits;
the formula and the weights are ours (common practice, no published source).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from voicelog.domain.entry import Adhesion, Entry
from voicelog.errors import HousingError
from voicelog.housing.openings import find_leaves
from voicelog.housing.own_tables import parse_table, read_table
from voicelog.housing.volumes import HousedVolume, Whereabouts, is_on_its_page, whereabouts_of

_DECAY = frozenset({"vinegar odour", "red rot", "insect damage", "plasticiser residue"})
_CORROSION = frozenset({"corroded fastener", "corroded metal"})
_FRAGILE = frozenset(
    {"brittle", "flaking", "cracked emulsion", "blocked", "split at fold", "skinned"}
)
_BROKEN = frozenset({"detached board", "broken joint", "broken sewing", "loose leaves"})
_FAILING = frozenset(
    {
        "cellophane tape",
        "masking tape",
        "double-sided tape",
        "rubber cement",
        "hot-melt glue",
        "adhesive, unidentified",
        "self-adhesive page",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What is counted, the most it can add, and the count at which it adds all of it."""

    measure: str
    weight: float
    full_at: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """What one part adds for one volume."""

    measure: str
    count: int
    points: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A volume with the parts of its score, in the order of the table; empty ones too."""

    volume: HousedVolume
    scores: tuple[Score, ...]

    @property
    def points(self) -> float:
        """The sum of all parts."""
        return sum(score.points for score in self.scores)


class _PartRow(BaseModel):
    model_config = ConfigDict(extra="forbid")

    measure: str
    weight: Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)]
    full_at: Annotated[int, Field(ge=1)]


class _WeightsForm(BaseModel):
    model_config = ConfigDict(extra="forbid")

    part: Annotated[list[_PartRow], Field(min_length=1)]


def load_default_weights() -> tuple[Part, ...]:
    """Return the weights that come with voicelog."""
    text = (resources.files("voicelog.housing") / "triage_weights.toml").read_text("utf-8")
    return parse_weights(text, origin="voicelog's weights")


def read_weights(path: Path) -> tuple[Part, ...]:
    """Return the weights of a repository's own table.

    Raises:
        HousingError: it can't be read, or something in it makes no sense.
    """
    text = read_table(path, what="table of weights", setting="triage_file")
    return parse_weights(text, origin=str(path))


def parse_weights(text: str, *, origin: str) -> tuple[Part, ...]:
    """Return the parts that a table in TOML names.

    Raises:
        HousingError: something in it makes no sense; the sentence names it.
    """
    form = parse_table(text, _WeightsForm, origin=origin)
    for row in form.part:
        if row.measure not in _MEASURES:
            raise HousingError(
                f"{origin} counts {row.measure!r}, which there is not; "
                f"it is one of {', '.join(_MEASURES)}."
            )
    return tuple(
        Part(measure=row.measure, weight=row.weight, full_at=row.full_at) for row in form.part
    )


def rank_volumes(volumes: Iterable[HousedVolume], parts: Iterable[Part]) -> tuple[Ranked, ...]:
    """Return the volumes, the one that needs care most first; equal ones in log order."""
    parts = tuple(parts)
    return sort_by_need(score_volume(volume, parts) for volume in volumes)


def score_volume(volume: HousedVolume, parts: Iterable[Part]) -> Ranked:
    """Return a volume with what each part adds for it."""
    return Ranked(volume=volume, scores=tuple(_score(volume, part) for part in parts))


def sort_by_need(ranked: Iterable[Ranked]) -> tuple[Ranked, ...]:
    """Return volumes, the one that needs care most first; equal ones in the order given."""
    return tuple(sorted(ranked, key=lambda each: -each.points))


def _score(volume: HousedVolume, part: Part) -> Score:
    count = _MEASURES[part.measure](volume)
    return Score(
        measure=part.measure,
        count=count,
        points=part.weight * min(1.0, count / part.full_at),
    )


def _entries(volume: HousedVolume) -> list[Entry]:
    own = [volume.entry] if volume.entry is not None else []
    return [*own, *(entry for _, entry in volume.rows)]


def _count_condition(volume: HousedVolume, terms: frozenset[str]) -> int:
    return sum(bool(terms & set(entry.condition)) for entry in _entries(volume))


def _count_nitrate(volume: HousedVolume) -> int:
    return sum("nitrate-film" in entry.cautions for entry in _entries(volume))


def _count_self_adhesive(volume: HousedVolume) -> int:
    if volume.entry is None or volume.entry.support != "self-adhesive page":
        return 0
    return len(find_leaves(volume))


def _count_loose(volume: HousedVolume) -> int:
    return sum(
        whereabouts_of(item) in {Whereabouts.NOT_ENCLOSED, Whereabouts.FOUND_LOOSE}
        for _, item in volume.items
    )


def _count_coming_loose(volume: HousedVolume) -> int:
    return sum(
        item.adhesion is Adhesion.PARTLY_LOOSE and is_on_its_page(item) for _, item in volume.items
    )


def _count_failing(volume: HousedVolume) -> int:
    return sum(
        bool(_FAILING & set(item.attachment)) and is_on_its_page(item) for _, item in volume.items
    )


_MEASURES: Mapping[str, Callable[[HousedVolume], int]] = {
    "nitrate film": _count_nitrate,
    "mould": lambda volume: _count_condition(volume, frozenset({"mould"})),
    "active decay": lambda volume: _count_condition(volume, _DECAY | _CORROSION),
    "self-adhesive pages": _count_self_adhesive,
    "loose items": _count_loose,
    "items coming loose": _count_coming_loose,
    "fragile items": lambda volume: _count_condition(volume, _FRAGILE),
    "broken binding": lambda volume: _count_condition(volume, _BROKEN),
    "failing adhesives": _count_failing,
}
