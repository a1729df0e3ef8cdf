"""The smallest envelope that covers each removed item with a margin on all sides.

An envelope covers its item completely (bench practice, no published source): the item,
widened by the margin on all four sides, goes into the inside of the envelope, upright or
turned by 90 degrees. Smallest means least area, then least height, then the name.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from voicelog.housing.fitting import fits_flat
from voicelog.housing.stock import Envelope, Rules
from voicelog.housing.volumes import (
    HousedVolume,
    Numbered,
    Whereabouts,
    enclosure_kind,
    enclosure_order,
    whereabouts_of,
)

Size = tuple[float, float]
ENVELOPE = "envelope"


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeNeed:
    """One envelope that the log names, or that a loose item still wants.

    Attributes:
        label: "envelope 7", or None where no number was given yet.
        rows: the entries that go into it, in display order.
        envelope: the envelope from stock, or None.
        reason: why there is none, in plain words, or None.
    """

    label: str | None
    rows: tuple[Numbered, ...]
    envelope: Envelope | None
    reason: str | None

    @property
    def pieces(self) -> int:
        """How many pieces go into it."""
        return sum(entry.quantity for _, entry in self.rows)

    @property
    def named(self) -> str:
        """Its label, or what stands for it."""
        first, entry = self.rows[0]
        what = entry.item_type[0] if entry.item_type else "item"
        return self.label or f"a new envelope for the {what} (entry {first})"

    def thickness_mm(self, rules: Rules) -> float:
        """Return how thick it lies when filled: two layers of paper and its pieces.

        Common practice, no published source.
        """
        paper = 2 * self.envelope.caliper_mm if self.envelope is not None else 0.0
        return paper + self.pieces * rules.item_thickness_mm


def find_smallest_envelope(
    sizes: Iterable[Size], envelopes: Iterable[Envelope], *, margin_mm: float
) -> Envelope | None:
    """Return the smallest envelope that covers every one of these items, or None.

    Args:
        sizes: height and width of each item in millimetres.
        envelopes: what there is.
        margin_mm: how much larger than the item it is on each of the four sides.
    """
    wanted = [(height + 2 * margin_mm, width + 2 * margin_mm) for height, width in sizes]
    fitting = [
        envelope
        for envelope in envelopes
        if all(fits_flat(size, (envelope.height_mm, envelope.width_mm)) for size in wanted)
    ]
    return min(
        fitting,
        key=lambda each: (each.height_mm * each.width_mm, each.height_mm, each.name),
        default=None,
    )


def plan_envelopes(
    volume: HousedVolume, envelopes: Sequence[Envelope], rules: Rules
) -> tuple[EnvelopeNeed, ...]:
    """Return every envelope of a volume, in the order in which its first item appears.

    Items that came off and have no enclosure yet want one each.
    """
    labelled: dict[str, list[Numbered]] = {}
    for row in volume.items:
        where, label = whereabouts_of(row[1]), row[1].enclosure
        if label is not None and enclosure_kind(label) == ENVELOPE:
            labelled.setdefault(label, []).append(row)
        elif where is Whereabouts.NOT_ENCLOSED:
            labelled.setdefault(f"\0{row[0]}", []).append(row)
    return tuple(
        _plan_one(None if label.startswith("\0") else label, tuple(rows), envelopes, rules)
        for label, rows in labelled.items()
    )


def find_other_enclosures(volume: HousedVolume) -> tuple[tuple[str, tuple[Numbered, ...]], ...]:
    """Return the enclosures of items that are no envelopes: sleeves, folders, wrappers."""
    others: dict[str, list[Numbered]] = {}
    for row in volume.items:
        label = row[1].enclosure
        if label is not None and enclosure_kind(label) != ENVELOPE:
            others.setdefault(label, []).append(row)
    return tuple((label, tuple(others[label])) for label in sorted(others, key=enclosure_order))


def _plan_one(
    label: str | None,
    rows: tuple[Numbered, ...],
    envelopes: Sequence[Envelope],
    rules: Rules,
) -> EnvelopeNeed:
    sizes = [entry.dimensions for _, entry in rows if entry.dimensions is not None]
    chosen: Envelope | None = None
    reason: str | None = None
    if len(sizes) < len(rows):
        unsized = ", ".join(str(number) for number, entry in rows if entry.dimensions is None)
        reason = f"entry {unsized} has no size; measure it"
    elif absurd := [size for size in sizes if min(size) <= 0]:
        reason = f"a size of {absurd[0][0]:g} x {absurd[0][1]:g} mm can't be right; correct it"
    elif not envelopes:
        reason = "the stock lists no envelopes"
    else:
        chosen = find_smallest_envelope(sizes, envelopes, margin_mm=rules.envelope_margin_mm)
        if chosen is None:
            reason = _tell_shortfall(sizes, envelopes, rules)
    return EnvelopeNeed(label=label, rows=rows, envelope=chosen, reason=reason)


def _tell_shortfall(sizes: Sequence[Size], envelopes: Sequence[Envelope], rules: Rules) -> str:
    def lacks(size: Size, envelope: Envelope) -> float:
        long, short = sorted((side + 2 * rules.envelope_margin_mm for side in size), reverse=True)
        room_long, room_short = sorted((envelope.height_mm, envelope.width_mm), reverse=True)
        return max(long - room_long, short - room_short)

    nearest = min(envelopes, key=lambda envelope: max(lacks(size, envelope) for size in sizes))
    missing_mm = max(lacks(size, nearest) for size in sizes)
    return f"no envelope in stock covers it; {nearest.name} is too small by {missing_mm:.1f} mm"
