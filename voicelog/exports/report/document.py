"""What a report says, block by block, whatever it is shown on.

The first section is the report in one page; the others are its detail.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from voicelog.domain.error_rate import ErrorRate
from voicelog.domain.finding import Finding
from voicelog.exports.report.blocks import (
    Block,
    Bullets,
    Document,
    Picture,
    Section,
    Table,
    Text,
    Tile,
    Tiles,
)
from voicelog.exports.report.charts import draw_bars, draw_key, draw_leaf_map
from voicelog.exports.report.drawing import Ink
from voicelog.exports.report.figures import Figures, Tally
from voicelog.exports.report.leaf_map import LeafMap, SideState
from voicelog.exports.report.material import FindingsInShort, Material, OpenFinding, Period
from voicelog.exports.report.wording import count, duration, percent
from voicelog.housing.supplies import Supply
from voicelog.housing.triage import Ranked

NOT_MEASURED = "not measured yet"
_IN_SHORT = 5


def make_document(material: Material) -> Document:
    """Return everything that the report says."""
    figures = material.figures
    sections = (
        _summary(figures, material),
        _found(figures),
        _leaf_maps(figures),
        _done(figures, material),
        _time(figures),
        _doubts(figures),
        _open(figures, material),
    )
    title = "Report on scrapbooks and albums"
    if material.repository:
        title = f"{material.repository}: {title[:1].lower()}{title[1:]}"
    return Document(title=title, subtitle=_subtitle(material), sections=sections)


def _subtitle(material: Material) -> str:
    logs = ", ".join(log.name for log in material.logs)
    as_of = max((log.as_of for log in material.logs), default="")
    day, time = as_of[:10], as_of[11:16]
    noun = "Log" if len(material.logs) == 1 else "Logs"
    parts = [f"{noun}: {logs}", _describe_period(material.period)]
    return ". ".join(filter(None, parts)) + f". As it stood on {day} at {time} UTC."


def _describe_period(period: Period) -> str:
    match period.first, period.last:
        case None, None:
            return ""
        case first, None:
            return f"From {first} on"
        case None, last:
            return f"Up to {last}"
    return f"From {period.first} to {period.last}"


# The first page ------------------------------------------------------------------------


def _summary(figures: Figures, material: Material) -> Section:
    totals = figures.totals
    pieces = f"{totals.pieces} pieces" if totals.pieces != totals.items else ""
    tiles = (
        Tile(value=str(totals.volumes), label="volumes" if totals.volumes != 1 else "volume"),
        Tile(
            value=str(totals.sides),
            label="sides logged",
            note=f"of {totals.sides_expected}, covers included",
        ),
        Tile(value=str(totals.items), label="items", note=pieces),
        Tile(
            value=str(totals.off),
            label="loose, taken out or gone",
            note=f"{totals.enclosed} in enclosures, {totals.missing} missing",
        ),
        Tile(
            value=percent(totals.confirmed, totals.entries),
            label="of entries confirmed",
            note=f"{totals.confirmed} of {totals.entries}",
        ),
        Tile(value=str(totals.queried), label="to be looked at"),
        Tile(
            value=duration(totals.recorded_s) if totals.recorded_s else "none",
            label="of sound",
            note=_per_leaf(figures),
        ),
        _error_tile(figures.error_rate),
    )
    return Section(
        title="In one page",
        blocks=(
            Tiles(tiles=tiles),
            Bullets(lines=tuple(_attention(figures, material))),
            _top(figures.item_types, "The most frequent types"),
            _top(figures.conditions, "The most frequent conditions", Ink.ORANGE),
        ),
    )


def _top(tally: Tally, title: str, ink: Ink = Ink.BLUE) -> Picture:
    top = replace(tally, counts=tally.counts[:_IN_SHORT])
    return _bars(top, title, "", ink)


def _per_leaf(figures: Figures) -> str:
    median_s = figures.time.median_s
    return "" if median_s is None else f"{duration(median_s)} a leaf (median)"


def _error_tile(rate: ErrorRate) -> Tile:
    if rate.judged == 0:
        return Tile(value="–", label="of undoubted entries wrong", note=NOT_MEASURED)
    return Tile(
        value=percent(rate.wrong, rate.judged),
        label="of undoubted entries wrong",
        note=f"{_say_interval(rate)} (95 % interval)",
    )


def _say_interval(rate: ErrorRate) -> str:
    low, high = rate.interval
    return f"{100 * low:.1f} to {100 * high:.1f} %"


def _attention(figures: Figures, material: Material) -> Iterator[str]:
    """Yield what somebody should know or do, the gravest first."""
    totals = figures.totals
    found = material.findings
    if found is None:
        yield f"Closing check: {NOT_MEASURED}."
    elif found.open:
        yield (
            f"The closing check has {count(found.open, 'open finding')}, "
            f"{found.errors} of them {'an error' if found.errors == 1 else 'errors'}."
        )
    else:
        yield "The closing check has no open findings."
    unseen = totals.sides_expected - totals.sides
    if unseen:
        yield f"Nothing is logged for {count(unseen, 'side')}; see the leaf maps."
    waiting = totals.entries - totals.confirmed
    if waiting:
        yield (
            f"{count(waiting, 'entry', 'entries')} {'waits' if waiting == 1 else 'wait'} for "
            f"review, {totals.queried} with a doubt."
        )
    if totals.restricted:
        yield (
            f"{count(totals.restricted, 'entry', 'entries')} with restricted access "
            f"{'is' if totals.restricted == 1 else 'are'} counted here and not described."
        )
    if material.ranking and material.ranking[0].points:
        first = material.ranking[0]
        yield f"{_capital(first.volume.title)} needs care first: {_why(first)}."
    gravest = [entry for entry in figures.conditions.counts if entry.name in _GRAVE]
    if gravest:
        named = ", ".join(f"{one.name} ({one.number})" for one in gravest)
        yield (
            f"Hazards said: {named}. Follow local codes and policies; a conservator or other "
            "licensed professional decides."
        )


_GRAVE = frozenset(
    {"mould", "vinegar odour", "red rot", "powder, unidentified", "insect damage"}
)  # vocabulary.md lists them among the conditions that call for a caution


# Detail --------------------------------------------------------------------------------


def _found(figures: Figures) -> Section:
    pictures = (
        _bars(figures.item_types, "Items by type", "type"),
        _bars(figures.attachments, "Items by how they are held", "attachment", Ink.SKY),
        _bars(figures.adhesions, "Items by how firmly they hold", "adhesion", Ink.SKY),
        _bars(figures.conditions, "Entries by condition", "condition", Ink.ORANGE),
    )
    note = (
        "An entry can have several of these, so the shares need not add up to 100 %. They are "
        "of all items, conditions of all entries."
    )
    return Section(title="What was found", blocks=(Text(text=note), *pictures))


def _bars(tally: Tally, title: str, column: str, ink: Ink = Ink.BLUE) -> Picture:
    table = Table(
        headers=(column, "number", "share"),
        rows=tuple(
            (one.name, str(one.number), percent(one.number, tally.among)) for one in tally.counts
        ),
        numbers=frozenset({1, 2}),
    )
    return Picture(title=title, drawing=draw_bars(tally, title=title, ink=ink), table=table)


def _leaf_maps(figures: Figures) -> Section:
    return Section(title="Leaf maps", blocks=_LeafMaps(figures.leaf_maps))


class _LeafMaps:
    """The blocks of all leaf maps, each drawn when its turn comes."""

    def __init__(self, leaf_maps: tuple[LeafMap, ...]) -> None:
        self._leaf_maps = leaf_maps

    def __iter__(self) -> Iterator[Block]:
        yield Text(
            text="One cell for each side, recto above verso; the number is that of its items."
        )
        yield Picture(title="", drawing=draw_key())
        for one in self._leaf_maps:
            for nth, drawing in enumerate(draw_leaf_map(one)):
                yield Picture(title=_title_of(one) if nth == 0 else "", drawing=drawing)


def _title_of(leaf_map: LeafMap) -> str:
    sides, unseen = len(leaf_map.cells), leaf_map.count(SideState.UNSEEN)
    logged = f"{sides - unseen} of {sides} sides" if unseen else f"all {sides} sides"
    return f"{leaf_map.title}: {logged} logged"


def _done(figures: Figures, material: Material) -> Section:
    blocks: list[Block] = [
        _bars(figures.actions, "Entries by what was done", "action"),
        _bars(figures.enclosures, "Enclosures in use", "enclosure", Ink.SKY),
    ]
    if material.supplies is None:
        blocks.append(Text(text=f"Supplies: {NOT_MEASURED}."))
    elif not material.supplies:
        blocks.append(Text(text="Housing takes no supplies from stock."))
    else:
        blocks.append(Text(text="What housing these volumes takes from stock:"))
        blocks.append(_supplies(material.supplies, material.currency))
    return Section(title="What was done and used", blocks=tuple(blocks))


def _supplies(supplies: tuple[Supply, ...], currency: str) -> Table:
    return Table(
        headers=("supply", "needed", "on hand", "short", f"cost {currency}".strip()),
        rows=tuple(
            (
                one.item.name,
                str(one.needed),
                "not counted" if one.item.on_hand is None else str(one.item.on_hand),
                str(one.short) if one.short else "–",
                "–" if one.cost is None else f"{one.cost:.2f}",
            )
            for one in supplies
        ),
        numbers=frozenset({1, 2, 3, 4}),
    )


def _time(figures: Figures) -> Section:
    time = figures.time
    if time.median_s is None:
        text = f"{NOT_MEASURED.capitalize()}: time is measured by the sound of spoken notes."
        return Section(title="Time per leaf", blocks=(Text(text=text),))
    text = (
        f"{count(time.leaves, 'leaf', 'leaves')} took {duration(time.total_s)} of recorded "
        f"time, {duration(time.median_s)} in the middle. A leaf's time runs from its first note "
        "to the first note of the next one; silences over ten minutes count for none."
    )
    table = Table(
        headers=("the longest", "volume", "time"),
        rows=tuple(
            (_leaf(one.leaf), one.volume.volume or "–", duration(one.seconds))
            for one in time.longest
        ),
        numbers=frozenset({2}),
    )
    return Section(title="Time per leaf", blocks=(Text(text=text), table))


def _doubts(figures: Figures) -> Section:
    blocks: list[Block] = [
        _bars(figures.doubts, "Entries with a doubt, by what it is about", "field", Ink.ORANGE),
        _bars(figures.corrections, "Values that people corrected, by field", "field"),
    ]
    read = figures.changed_by_reading
    struck = figures.totals.struck
    blocks.append(
        Text(
            text=f"{count(figures.totals.notes, 'note')} taken, {struck} of them taken back by "
            f"voice. {count(read, 'value')} came out differently when notes were read again."
        )
    )
    blocks.append(Text(text=_describe_rate(figures.error_rate)))
    return Section(title="Doubts and corrections", blocks=tuple(blocks))


def _describe_rate(rate: ErrorRate) -> str:
    waiting = f" {count(rate.waiting, 'entry', 'entries')} of the sample" if rate.waiting else ""
    waiting += f" {'waits' if rate.waiting == 1 else 'wait'} to be judged." if waiting else ""
    if rate.judged == 0:
        return (
            f"This team's error rate is {NOT_MEASURED}: the review draws a blind sample of "
            f"entries that nobody doubted, and what is found wrong in it is the measure.{waiting}"
        )
    return (
        f"This team's error rate: of {rate.judged} entries that nobody doubted, drawn at random "
        f"and checked blind, {rate.wrong} {'was' if rate.wrong == 1 else 'were'} wrong, "
        f"{percent(rate.wrong, rate.judged)}; with 95 % confidence the true rate lies at "
        f"{_say_interval(rate)} (Wilson's score interval).{waiting}"
    )


def _open(figures: Figures, material: Material) -> Section:
    del figures
    blocks: list[Block] = []
    if material.findings is None:
        blocks.append(Text(text=f"Closing check: {NOT_MEASURED}."))
    else:
        blocks += _findings(material.findings)
    if material.ranking is None:
        blocks.append(Text(text=f"Which volume needs care first: {NOT_MEASURED}."))
    elif material.ranking:
        rows = tuple(
            (str(rank), _capital(one.volume.title), f"{one.points:.1f}", _why(one))
            for rank, one in enumerate(material.ranking, start=1)
        )
        blocks.append(Text(text="Which volume needs care first, and why:"))
        blocks.append(
            Table(headers=("", "volume", "points", "for"), rows=rows, numbers=frozenset({0, 2}))
        )
    return Section(title="What is open", blocks=tuple(blocks))


def _why(ranked: Ranked) -> str:
    counted = [f"{one.measure} ({one.count})" for one in ranked.scores if one.points]
    return ", ".join(counted) or "nothing counted"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _findings(found: FindingsInShort) -> Iterator[Block]:
    yield Text(
        text=f"The closing check has {count(found.open, 'open finding')}; "
        f"{found.accepted} {'was' if found.accepted == 1 else 'were'} accepted with a reason."
    )
    if not found.open:
        return
    yield Table(
        headers=("severity", "where", "what is wrong", "what to do"),
        rows=tuple(
            (str(one.finding.severity), _where(one.finding), *_say(one)) for one in found.gravest
        ),
    )
    more = found.open - len(found.gravest)
    if more:
        yield Text(text=f"and {more} more; 'voicelog check' has them all.")


def _say(one: OpenFinding) -> tuple[str, str]:
    """Return what is wrong and what to do; nothing of what was said of a restricted item."""
    if one.is_restricted:
        return "It is about an entry with restricted access.", "See 'voicelog check'."
    return one.finding.message, one.finding.remedy


def _where(finding: Finding) -> str:
    parts = [finding.volume or "", _leaf(finding.leaf) if finding.leaf else ""]
    if finding.side:
        parts[1] += f" {finding.side}"
    return ", ".join(filter(None, parts)) or finding.accession or "–"


def _leaf(leaf: str) -> str:
    return f"leaf {leaf}" if leaf[:1].isdecimal() else leaf
