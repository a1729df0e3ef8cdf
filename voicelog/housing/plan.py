"""The housing of one volume, worked out from its log and the stock on the shelf."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import ceil

from voicelog.housing.boxes import BoxChoice, Load, NoBox, choose_box
from voicelog.housing.bulk import Bulk, Thickness, find_thickness, weigh_bulk
from voicelog.housing.cutting import CuttingPlan, find_largest_lack, plan_cutting
from voicelog.housing.envelopes import (
    EnvelopeNeed,
    find_other_enclosures,
    plan_envelopes,
)
from voicelog.housing.grouping import FolderNeed, plan_folders
from voicelog.housing.interleaving import Interleaving, InterleavingRules, plan_interleaving
from voicelog.housing.stock import Filling, Stock
from voicelog.housing.volumes import HousedVolume, Numbered

SMALLEST_LEAF_MM = 40.0
"""A volume smaller than this was measured in another unit."""
HEAVY_BOX = "heavy-box"
_MM3_PER_LITRE = 1_000_000
_MM3_PER_CM3 = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledBox:
    """A box with what is in it.

    Attributes:
        choice: the box and how things lie in it.
        holds: what it holds, in plain words.
        filling: what fills the gap, or None.
        filling_sheets: how many sheets of it.
        weight_g: the weight when filled.
    """

    choice: BoxChoice
    holds: tuple[str, ...]
    filling: Filling | None
    filling_sheets: int
    weight_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumePlan:
    """What one volume needs.

    Attributes:
        volume: the volume.
        thickness: before interleaving, or None where nothing tells it.
        interleaving: where sheets go.
        cutting: how they are cut: for each kind that is needed, the plan.
        bulk: what they add.
        envelopes: the envelopes of removed items.
        other_enclosures: enclosures of another kind, with their entries.
        folders: the folders that the envelopes travel in.
        boxes: the boxes, that of the volume first.
        cautions: ids of all cautions that apply, each once.
        remarks: what couldn't be worked out and why, in plain words.
    """

    volume: HousedVolume
    thickness: Thickness | None
    interleaving: Interleaving
    cutting: tuple[CuttingPlan, ...]
    bulk: Bulk
    envelopes: tuple[EnvelopeNeed, ...]
    other_enclosures: tuple[tuple[str, tuple[Numbered, ...]], ...]
    folders: tuple[FolderNeed, ...]
    boxes: tuple[FilledBox, ...]
    cautions: tuple[str, ...]
    remarks: tuple[str, ...]

    def needs(self) -> Mapping[str, int]:
        """Return how many pieces of which thing from stock this volume takes."""
        needed: Counter[str] = Counter()
        for envelope in self.envelopes:
            if envelope.envelope is not None:
                needed[envelope.envelope.name] += 1
        for folder in self.folders:
            if folder.folder is not None:
                needed[folder.folder.name] += 1
        for cutting in self.cutting:
            needed[cutting.sheet.name] += cutting.sheets
        for box in self.boxes:
            needed[box.choice.box.name] += 1
            if box.filling is not None:
                needed[box.filling.name] += box.filling_sheets
        return needed


def plan_volumes(
    volumes: Iterable[HousedVolume], stock: Stock, rules: InterleavingRules
) -> tuple[VolumePlan, ...]:
    """Return the housing of each volume."""
    return tuple(_Planner(volume, stock, rules).plan() for volume in volumes)


class _Planner:
    """Works out one volume and collects what couldn't be worked out; used once."""

    def __init__(self, volume: HousedVolume, stock: Stock, rules: InterleavingRules) -> None:
        self._volume = volume
        self._stock = stock
        self._rules = rules
        self._remarks: list[str] = []

    def plan(self) -> VolumePlan:
        volume, stock = self._volume, self._stock
        size = self._read_size()
        interleaving = plan_interleaving(volume, self._rules)
        cutting = self._plan_cutting(interleaving, size)
        bulk = weigh_bulk(
            self._count_sheets(interleaving, cutting),
            volume.entry.binding if volume.entry is not None else None,
            stock.bindings,
        )
        envelopes = plan_envelopes(volume, stock.envelopes, stock.rules)
        folders = plan_folders(envelopes, stock.folders, stock.rules)
        thickness = find_thickness(volume, stock)
        self._tell_of(interleaving, bulk, envelopes, thickness)
        boxes: tuple[FilledBox, ...] = ()
        if size is not None and thickness is not None:
            load = Load(*size, thickness.mm + bulk.added_mm)
            boxes = self._fill_boxes(load, cutting, folders)
        heavy = any(box.weight_g >= stock.rules.heavy_from_kg * 1000 for box in boxes)
        return VolumePlan(
            volume=volume,
            thickness=thickness,
            interleaving=interleaving,
            cutting=cutting,
            bulk=bulk,
            envelopes=envelopes,
            other_enclosures=find_other_enclosures(volume),
            folders=folders,
            boxes=boxes,
            cautions=(*self._find_cautions(), *((HEAVY_BOX,) if heavy else ())),
            remarks=tuple(self._remarks),
        )

    def _read_size(self) -> tuple[float, float] | None:
        entry = self._volume.entry
        if entry is None or entry.dimensions is None:
            self._remarks.append("The size of the volume isn't in the log: no box, no cutting.")
            return None
        if min(entry.dimensions) < SMALLEST_LEAF_MM:
            height, width = entry.dimensions
            self._remarks.append(
                f"A volume of {height:g} x {width:g} mm can't be right: no box, no cutting. "
                "Correct its size."
            )
            return None
        return entry.dimensions

    def _plan_cutting(
        self, interleaving: Interleaving, size: tuple[float, float] | None
    ) -> tuple[CuttingPlan, ...]:
        if size is None:
            return ()
        # A leaf is as large as its volume at most; the spine edge of a sheet isn't trimmed.
        inset_mm = self._stock.rules.interleaf_inset_mm
        piece_mm = (size[0] - 2 * inset_mm, size[1] - inset_mm)
        plans = []
        for buffered in (True, False):
            pieces = interleaving.count(buffered=buffered)
            if pieces == 0:
                continue
            plan = plan_cutting(pieces, piece_mm, self._stock.sheets, buffered=buffered)
            if plan is None:
                self._tell_no_sheet(piece_mm, buffered=buffered)
            else:
                plans.append(plan)
        return tuple(plans)

    def _count_sheets(
        self, interleaving: Interleaving, cutting: tuple[CuttingPlan, ...]
    ) -> list[tuple[int, float]]:
        """Return how many sheets of which caliper there are.

        Where none was chosen yet the thickest of the right kind is taken.
        """
        chosen = {plan.sheet.buffered: plan.sheet.caliper_mm for plan in cutting}
        return [
            (
                interleaving.count(buffered=buffered),
                chosen.get(buffered)
                or max(
                    (s.caliper_mm for s in self._stock.sheets if s.buffered is buffered),
                    default=0.0,
                ),
            )
            for buffered in (True, False)
        ]

    def _tell_no_sheet(self, piece_mm: tuple[float, float], *, buffered: bool) -> None:
        kind = "buffered" if buffered else "unbuffered"
        wanted = f"{piece_mm[0]:.1f} x {piece_mm[1]:.1f} mm"
        nearest = find_largest_lack(piece_mm, self._stock.sheets, buffered=buffered)
        if nearest is None:
            told = f"the stock lists no {kind} sheets"
        elif nearest[1] > 0:
            told = f"{nearest[0].name} is too small by {nearest[1]:.1f} mm"
        else:
            told = f"{nearest[0].name} is large enough only with its grain across the leaf"
        self._remarks.append(f"No {kind} sheet gives an interleaf of {wanted}: {told}.")

    def _tell_of(
        self,
        interleaving: Interleaving,
        bulk: Bulk,
        envelopes: tuple[EnvelopeNeed, ...],
        thickness: Thickness | None,
    ) -> None:
        if waiting := [need for need in envelopes if need.envelope is None]:
            named = f"{len(waiting)} {'envelope' if len(waiting) == 1 else 'envelopes'}"
            self._remarks.append(f"{named} not chosen yet: left out of folders, box and supplies.")
        if interleaving.unknown and interleaving.overlay is None:
            count = len(interleaving.unknown)
            self._remarks.append(
                f"The log says nothing of either page of {count} of {interleaving.openings} "
                "openings; no sheet was counted for them."
            )
        if interleaving.left_alone and interleaving.overlay is None:
            named = "; ".join(opening.title for opening in interleaving.left_alone)
            self._remarks.append(
                f"No sheet until somebody has decided about the hazard there: {named}."
            )
        if bulk.over_mm > 0:
            self._remarks.append(
                f"The sheets add {bulk.added_mm:.1f} mm, {bulk.over_mm:.1f} mm more than the "
                f"binding bears. Look for {bulk.remedy}; else put the rest into a second box."
            )
        if bulk.slack_mm is None and bulk.added_mm > 0:
            self._remarks.append(
                f"What the binding bears isn't known; the sheets add {bulk.added_mm:.1f} mm."
            )
        if thickness is None:
            self._remarks.append(
                "Neither a thickness nor a number of leaves with a known support is in the log: "
                "no box. Say, for example, '2 inches thick'."
            )

    def _fill_boxes(
        self,
        volume: Load,
        cutting: tuple[CuttingPlan, ...],
        folders: tuple[FolderNeed, ...],
    ) -> tuple[FilledBox, ...]:
        stock = self._stock
        clearance_mm = stock.rules.box_clearance_mm
        volume_g = (
            volume.volume_mm3 / _MM3_PER_CM3 * stock.rules.volume_density_g_per_cm3
            + _weigh_sheets(cutting)
        )
        stack = _stack(folders)
        named = f"{len(folders)} {'folder' if len(folders) == 1 else 'folders'}"
        if stack is not None:
            together = choose_box([volume, stack], stock.boxes, clearance_mm=clearance_mm)
            if isinstance(together, BoxChoice):
                weight_g = volume_g + _weigh_folders(folders)
                return (self._fill(together, ("the volume", named), weight_g),)
        alone = choose_box([volume], stock.boxes, clearance_mm=clearance_mm)
        if isinstance(alone, NoBox):
            self._remarks.append(f"Box: {alone.reason}.")
            return ()
        boxes = [self._fill(alone, ("the volume",), volume_g)]
        if stack is not None:
            second = choose_box([stack], stock.boxes, clearance_mm=clearance_mm)
            if isinstance(second, NoBox):
                self._remarks.append(f"Box for the folders: {second.reason}.")
            else:
                boxes.append(self._fill(second, (named,), _weigh_folders(folders)))
                self._remarks.append(
                    "No box takes the folders beside the volume, where nothing presses on it; "
                    "they need a second box. Keep both together."
                )
        return tuple(boxes)

    def _fill(self, choice: BoxChoice, holds: tuple[str, ...], contents_g: float) -> FilledBox:
        """Fill the gap with the buffer paper that takes the fewest sheets."""
        filling = max(
            self._stock.fillings, key=lambda each: (each.fills_litres, each.name), default=None
        )
        sheets = (
            0
            if filling is None
            else ceil(round(choice.void_mm3 / _MM3_PER_LITRE / filling.fills_litres, 6))
        )
        if filling is None:
            self._remarks.append("The stock lists nothing to fill the gap in the box with.")
        return FilledBox(
            choice=choice,
            holds=holds,
            filling=filling,
            filling_sheets=sheets,
            weight_g=choice.box.weight_g
            + contents_g
            + (0 if filling is None else sheets * filling.weight_g),
        )

    def _find_cautions(self) -> Iterator[str]:
        rows = [entry for _, entry in self._volume.rows]
        own = self._volume.entry
        found: dict[str, None] = {}
        for entry in [*([own] if own is not None else []), *rows]:
            found.update(dict.fromkeys(entry.cautions))
        yield from found


def _stack(folders: tuple[FolderNeed, ...]) -> Load | None:
    """Return the folders of one volume as one stack, or None where there are none."""
    chosen = [folder for folder in folders if folder.folder is not None]
    if not chosen:
        return None
    return Load(
        max(folder.folder.height_mm for folder in chosen if folder.folder is not None),
        max(folder.folder.width_mm for folder in chosen if folder.folder is not None),
        sum(folder.thickness_mm for folder in chosen),
    )


def _weigh_sheets(cutting: tuple[CuttingPlan, ...]) -> float:
    """Return the weight of the interleaving in grams: area of the pieces x weight of paper."""
    return sum(
        plan.pieces
        * plan.piece_mm[0]
        * plan.piece_mm[1]
        * plan.sheet.weight_g
        / plan.sheet.area_mm2
        for plan in cutting
    )


def _weigh_folders(folders: tuple[FolderNeed, ...]) -> float:
    """Return the weight of folders and envelopes in grams.

    What lies in the envelopes is left out: it weighed in the volume before.
    """
    boards = sum(folder.folder.weight_g for folder in folders if folder.folder is not None)
    paper = sum(
        need.envelope.weight_g
        for folder in folders
        for need in folder.envelopes
        if need.envelope is not None
    )
    return boards + paper
