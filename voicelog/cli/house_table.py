"""How ``voicelog house`` looks on the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from voicelog.cli.terminal import safe
from voicelog.housing.envelopes import EnvelopeNeed
from voicelog.housing.plan import VolumePlan
from voicelog.housing.supplies import Supply, add_costs
from voicelog.housing.triage import Ranked
from voicelog.housing.volumes import HousedVolume
from voicelog.vocabulary.concepts import Caution

_WIDEST = 110
_INDENT = 2
_BAR_CELLS = 24


class HousePrinter:
    """Prints plans, supplies and the ranking on a console."""

    def __init__(self, console: Console, cautions: Mapping[str, Caution]) -> None:
        self._console = console
        self._cautions = cautions
        self._width = min(console.width, _WIDEST)

    def print_plan(self, plan: VolumePlan) -> None:
        """Print what one volume needs."""
        self._head(f"{plan.volume.accession or 'no accession number yet'} · {plan.volume.title}")
        table = Table.grid(padding=(0, 2))
        table.add_column(style="dim", width=13)
        table.add_column(ratio=1, overflow="fold")
        for name, lines in self._rows(plan):
            table.add_row(name, Text("\n".join(map(safe, lines))))
        self._put(table)
        beneath = Table.grid(padding=(0, 1))
        beneath.add_column(width=1)
        beneath.add_column(ratio=1, overflow="fold")
        for remark in plan.remarks:
            beneath.add_row("?", Text(safe(remark)), style="yellow")
        for caution in plan.cautions:
            known = self._cautions[caution]
            beneath.add_row("!", Text(safe(f"{known.title}. {known.wording}")), style="red")
        self._put(beneath)

    def print_supplies(self, supplies: Sequence[Supply], currency: str) -> None:
        """Print what to take from the shelf, what it costs and what is short."""
        if not supplies:
            return
        self._head("Supplies")
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
        table.add_column("item", overflow="fold")
        for name in ("needed", "on hand", "short", f"cost {currency}".strip()):
            table.add_column(name, justify="right")
        for supply in supplies:
            table.add_row(
                Text(safe(supply.item.name)),
                str(supply.needed),
                "" if supply.item.on_hand is None else str(supply.item.on_hand),
                Text(str(supply.short), style="bold red") if supply.short else "",
                "" if supply.cost is None else f"{supply.cost:.2f}",
            )
        self._put(table)
        total, unpriced = add_costs(supplies)
        if unpriced < len(supplies):
            missing = f"; {unpriced} without a price" if unpriced else ""
            self._put(Text(safe(f"Together {total:.2f} {currency}{missing}."), style="dim"))

    def print_ranking(self, ranking: Sequence[Ranked]) -> None:
        """Print which volume needs care first, with the parts of each sum."""
        self._head("Care first")
        highest = max((ranked.points for ranked in ranking), default=0.0) or 1.0
        for rank, ranked in enumerate(ranking, start=1):
            line = Text(f"{rank}. {safe(_name(ranked.volume))}  ")
            line.append(f"{ranked.points:.1f} ", style="bold")
            line.append("█" * round(_BAR_CELLS * ranked.points / highest), style="cyan")
            self._put(line)
            parts = [
                f"{score.measure} {score.points:.1f} ({score.count})"
                for score in ranked.scores
                if score.points
            ]
            self._put(Text(" + ".join(parts) or "nothing counted", style="dim"), indent=5)

    def _rows(self, plan: VolumePlan) -> Iterable[tuple[str, list[str]]]:
        thickness = plan.thickness
        if thickness is not None:
            how = " (estimated; measure it)" if thickness.is_estimated else ""
            yield "thickness", [f"{thickness.mm:.1f} mm{how}"]
        yield "interleaving", _describe_interleaving(plan)
        yield from _rows_of_enclosures(plan)
        for folder in plan.folders:
            held = ", ".join(need.named for need in folder.envelopes)
            name = folder.folder.name if folder.folder is not None else folder.reason
            yield "folder", [f"{name}: {held} ({folder.thickness_mm:.1f} mm)"]
        for filled in plan.boxes:
            turned = ", the volume turned by 90 degrees" if filled.choice.spots[0].turned else ""
            lines = [f"{filled.choice.box.name}: {' and '.join(filled.holds)}{turned}"]
            filling = ""
            if filled.filling is not None:
                filling = f", {filled.filling_sheets} x {filled.filling.name}"
            litres = filled.choice.void_mm3 / 1_000_000
            kilograms = filled.weight_g / 1000
            lines.append(f"gap {litres:.1f} litres{filling}; about {kilograms:.1f} kg when filled")
            yield "box", lines

    def _head(self, text: str) -> None:
        self._console.print(Text(f"\n{safe(text)}", style="bold"))

    def _put(self, what: Table | Text, *, indent: int = _INDENT) -> None:
        self._console.print(Padding(what, (0, 0, 0, indent)), width=self._width)


def _name(volume: HousedVolume) -> str:
    return f"{volume.accession or ''} {volume.title}".strip()


def _describe_interleaving(plan: VolumePlan) -> list[str]:
    leaving = plan.interleaving
    if leaving.overlay is not None:
        return [f"none: {leaving.overlay} covers the pages"]
    if not leaving.sheets:
        return ["none"]
    kinds = [
        f"{count} {name}"
        for name, count in (
            ("buffered", leaving.count(buffered=True)),
            ("unbuffered", leaving.count(buffered=False)),
        )
        if count
    ]
    lines = [f"{' and '.join(kinds)} in {leaving.openings} openings"]
    for cutting in plan.cutting:
        height, width = cutting.piece_mm
        lines.append(
            f"{cutting.pieces} of {height:.1f} x {width:.1f} mm from {cutting.sheets} x "
            f"{cutting.sheet.name}, {len(cutting.per_sheet)} a sheet, "
            f"{cutting.waste_share:.0%} waste"
        )
    slack = "" if plan.bulk.slack_mm is None else f"; the binding bears {plan.bulk.slack_mm:g} mm"
    lines.append(f"adds {plan.bulk.added_mm:.1f} mm{slack}")
    return lines


def _rows_of_enclosures(plan: VolumePlan) -> Iterable[tuple[str, list[str]]]:
    lines = [
        f"{need.named}: {need.envelope.name if need.envelope is not None else 'not chosen yet, '}"
        f"{need.reason or ''} ({_describe_contents(need)})"
        for need in plan.envelopes
    ]
    for label, rows in plan.other_enclosures:
        numbers = ", ".join(str(number) for number, _ in rows)
        lines.append(f"{label}: as it is (entry {numbers})")
    if lines:
        yield "enclosures", lines


def _describe_contents(need: EnvelopeNeed) -> str:
    return ", ".join(
        f"entry {number}: "
        + (f"{entry.quantity} x " if entry.quantity != 1 else "")
        + (", ".join(entry.item_type) or "item")
        for number, entry in need.rows
    )
