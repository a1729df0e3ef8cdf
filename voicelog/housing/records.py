"""What ``voicelog house --json`` prints: a record for each volume, supply and rank."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from voicelog.housing.openings import format_place
from voicelog.housing.plan import FilledBox, VolumePlan
from voicelog.housing.supplies import Supply
from voicelog.housing.triage import Ranked
from voicelog.housing.volumes import HousedVolume
from voicelog.vocabulary.concepts import Caution

Record = dict[str, Any]


def format_records(
    plans: Sequence[VolumePlan],
    supplies: Iterable[Supply],
    ranking: Iterable[Ranked],
    *,
    cautions: Mapping[str, Caution],
    currency: str,
) -> Iterator[Record]:
    """Yield the records: volumes in log order, then supplies, then volumes by care."""
    for plan in plans:
        yield _format_plan(plan, cautions)
    for supply in supplies:
        yield {
            "house": "supply",
            "item": supply.item.name,
            "needed": supply.needed,
            "on_hand": supply.item.on_hand,
            "short": supply.short,
            "price": _format_price(supply.item.price),
            "cost": _format_price(supply.cost),
            "currency": currency or None,
        }
    for rank, ranked in enumerate(ranking, start=1):
        yield {
            "house": "care",
            "rank": rank,
            **_name(ranked.volume),
            "points": round(ranked.points, 1),
            "parts": [
                {
                    "measure": score.measure,
                    "count": score.count,
                    "points": round(score.points, 1),
                }
                for score in ranked.scores
            ],
        }


def _name(volume: HousedVolume) -> Record:
    return {
        "accession": volume.accession,
        "volume": volume.volume,
        "volume_name": volume.name,
    }


def _format_plan(plan: VolumePlan, cautions: Mapping[str, Caution]) -> Record:
    thickness = plan.thickness
    return {
        "house": "volume",
        **_name(plan.volume),
        "thickness_mm": None if thickness is None else round(thickness.mm, 1),
        "thickness_estimated": None if thickness is None else thickness.is_estimated,
        "openings": plan.interleaving.openings,
        "openings_unknown": len(plan.interleaving.unknown),
        "overlay": plan.interleaving.overlay,
        "interleaving": [
            {
                "left": format_place(sheet.opening.left.place),
                "right": format_place(sheet.opening.right.place),
                "buffered": sheet.buffered,
                "reasons": list(sheet.reasons),
            }
            for sheet in plan.interleaving.sheets
        ],
        "cutting": [
            {
                "sheet": cutting.sheet.name,
                "piece_mm": [round(side, 1) for side in cutting.piece_mm],
                "pieces": cutting.pieces,
                "per_sheet": len(cutting.per_sheet),
                "sheets": cutting.sheets,
                "waste_share": round(cutting.waste_share, 3),
            }
            for cutting in plan.cutting
        ],
        "bulk_mm": round(plan.bulk.added_mm, 1),
        "slack_mm": plan.bulk.slack_mm,
        "bulk_over_mm": round(plan.bulk.over_mm, 1),
        "envelopes": [
            {
                "enclosure": need.label,
                "entries": [number for number, _ in need.rows],
                "envelope": None if need.envelope is None else need.envelope.name,
                "reason": need.reason,
            }
            for need in plan.envelopes
        ],
        "other_enclosures": [
            {"enclosure": label, "entries": [number for number, _ in rows]}
            for label, rows in plan.other_enclosures
        ],
        "folders": [
            {
                "folder": None if folder.folder is None else folder.folder.name,
                "entries": [number for need in folder.envelopes for number, _ in need.rows],
                "thickness_mm": round(folder.thickness_mm, 1),
                "reason": folder.reason,
            }
            for folder in plan.folders
        ],
        "boxes": [_format_box(box) for box in plan.boxes],
        "cautions": [
            {"id": known.id, "title": known.title, "wording": known.wording}
            for known in (cautions[caution] for caution in plan.cautions)
        ],
        "remarks": list(plan.remarks),
    }


def _format_box(filled: FilledBox) -> Record:
    return {
        "box": filled.choice.box.name,
        "holds": list(filled.holds),
        "turned": filled.choice.spots[0].turned,
        "void_litres": round(filled.choice.void_mm3 / 1_000_000, 1),
        "filling": None if filled.filling is None else filled.filling.name,
        "filling_sheets": filled.filling_sheets,
        "weight_kg": round(filled.weight_g / 1000, 1),
    }


def _format_price(price: object) -> str | None:
    return None if price is None else f"{price:.2f}"
