"""What stands on a page of the work list."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from voicelog.domain.entry import Kind, Status
from voicelog.domain.place import Place, describe_place
from voicelog.review.pages.clips import AROUND_S
from voicelog.review.pages.desk import ReviewDesk
from voicelog.review.pages.fields import label_of
from voicelog.review.pages.leaf_map import Cell, Opening, anchor_of, make_leaf_map
from voicelog.review.pages.rows import Row, RowMaker
from voicelog.review.pages.volume_list import list_volumes
from voicelog.review.pages.wanted import Wanted, want_volume
from voicelog.review.pages.work_pages import WorkPage, find_page, is_wide
from voicelog.store.selection import Order, VolumeKey
from voicelog.store.worklist import (
    MOST_WORDED,
    Choice,
    Placed,
    Tally,
    VolumeSummary,
    WorkListLog,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Something that leads to another part of the list."""

    label: str
    address: str
    is_here: bool = False
    count: int | None = None
    key: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeLink:
    """A volume and what is to be done in it."""

    title: str
    told: str
    address: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Facet:
    """One way to narrow the list."""

    name: str
    label: str
    choices: tuple[Link, ...]

    @property
    def is_open(self) -> bool:
        """Whether it narrows the list now."""
        return any(choice.is_here for choice in self.choices)


@dataclass(frozen=True, slots=True, kw_only=True)
class StatusCount:
    """How many entries have a status, and the address that shows only those."""

    name: str
    count: int
    address: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The rows of one place.

    Attributes:
        title: the place as it would be said.
        anchor: its name in the page's address.
        volume: the volume's title where a page shows several and another begins here.
        key: the volume.
        leaf: the leaf's label, or None for the volume itself.
        rows: its rows.
    """

    title: str
    anchor: str
    volume: str
    key: VolumeKey
    leaf: str | None
    rows: tuple[Row, ...]


def make_work_view(desk: ReviewDesk, log: WorkListLog, wanted: Wanted) -> dict[str, Any]:
    """Return everything that the template of the work list needs."""
    selection = wanted.select()
    tally = log.tally_some(selection) if is_wide(log, selection) else log.tally(selection)
    page = find_page(log, wanted)
    key = wanted.volume_key
    rows = make_rows(desk, log, [placed.id for placed in page.entries])
    shown = key or (page.entries[0].volume if page.entries else None)
    volumes = list_volumes(log, shown)
    on_page = [log.find_summary(one) for one in {placed.volume for placed in page.entries}]
    known = {one.key: one for one in (*volumes.listed, *filter(None, on_page))}
    titles = {volume.key: title_volume(volume) for volume in known.values()}
    here = None if key is None else known.get(key) or log.find_summary(key)
    return {
        "heading": "The whole log"
        if key is None
        else "No such volume"
        if here is None
        else title_volume(here),
        "volumes": [_link_volume(volume, titles, wanted) for volume in volumes.listed],
        "volumes_before": None
        if volumes.before is None
        else want_volume(volumes.before, order=wanted.order).address(),
        "volumes_after": None
        if volumes.after is None
        else want_volume(volumes.after, order=wanted.order).address(),
        "volumes_told": volumes.told,
        "words": wanted.words or "",
        "most_worded": MOST_WORDED,
        "kept_in_search": wanted.kept_in_search(),
        "whole_log": Link(
            label="the whole log",
            address=Wanted(order=wanted.order).address(),
            is_here=wanted.volume_key is None,
        ),
        "openings": _map_of(log, shown) if shown else (),
        "map_address": lambda cell: _cell_address(cell, shown),
        "facets": _make_facets(desk, tally, wanted),
        "is_filtered": wanted.is_filtered,
        "clear_address": wanted.without_filters(),
        "statuses": [
            StatusCount(
                name=str(status),
                count=count,
                address=wanted.address(status=None if wanted.status is status else status),
                is_here=wanted.status is status,
            )
            for status, count in tally.statuses.items()
        ],
        "orders": [
            Link(
                label=label,
                address=wanted.address(order=order),
                is_here=wanted.order is order,
                key="o" if wanted.order is not order else "",
            )
            for order, label in (
                (Order.BOOK, "leaf by leaf"),
                (Order.DOUBTFUL_FIRST, "doubtful first"),
            )
        ],
        "order": str(wanted.order),
        "page": page,
        "pages": lambda number: wanted.address(page=min(max(number, 1), page.of)),
        "groups": _make_groups(page, rows, titles, several=wanted.volume_key is None),
        "nothing": _tell_nothing(wanted, tally),
        "around_s": AROUND_S,
        "volume": key,
        "signature": log.find_signature(key.accession, key.volume) if key else None,
        "can_sign": here is not None and _is_all_confirmed(here),
        "undoubted": 0 if here is None else here.entries[Status.HEARD],
    }


def _is_all_confirmed(volume: VolumeSummary) -> bool:
    counts = volume.entries
    is_left = counts[Status.HEARD] or counts[Status.QUERIED]
    return bool(counts[Status.CONFIRMED]) and not is_left


def make_rows(desk: ReviewDesk, log: WorkListLog, ids: Sequence[str]) -> dict[str, Row]:
    """Return the rows of some entries by their ids."""
    stored = log.read_entries(ids)
    numbers = {number for one in stored for number in one.entry.notes}
    notes = log.read_notes(numbers)
    related = [tie.id for one in stored for tie in one.entry.relations]
    maker = RowMaker(
        notes=notes,
        struck=log.read_struck(numbers),
        to_hear=log.waiting_in_sample(ids),
        spell=desk.spell,
        numbers={one.entry.id: one.number for one in log.read_entries(related)},
        cautions={id_: caution.title for id_, caution in desk.vocabulary.cautions.items()},
    )
    return {one.entry.id: maker.make(one) for one in stored}


def title_volume(volume: VolumeSummary) -> str:
    """Return what a volume is called on the pages."""
    key = volume.key
    parts = [key.accession or "no accession yet"]
    if key.volume and key.volume.isdecimal():
        parts.append(f"volume {key.volume}")
    if volume.name or key.volume:
        name = volume.name or key.volume or ""
        if not (name.isdecimal() and len(parts) > 1):
            parts.append(name)
    else:
        parts.append("no volume yet")
    return " · ".join(parts)


def _link_volume(
    volume: VolumeSummary, titles: Mapping[VolumeKey, str], wanted: Wanted
) -> VolumeLink:
    counts = volume.entries
    left = counts[Status.HEARD] + counts[Status.QUERIED]
    total = left + counts[Status.CONFIRMED]
    if not total:
        told = f"{counts[Status.VOID]} void"
    elif not left:
        told = f"all {total} confirmed"
    else:
        told = f"{counts[Status.QUERIED]} queried · {left} of {total} to confirm"
    return VolumeLink(
        title=titles[volume.key],
        told=told,
        address=want_volume(volume.key, order=wanted.order).address(),
        is_here=wanted.volume_key == volume.key,
    )


def _map_of(log: WorkListLog, key: VolumeKey) -> tuple[Opening, ...]:
    sides = log.sides(key)
    return make_leaf_map(sides, leaves=log.count_leaves(key)) if sides else ()


def _cell_address(cell: Cell, key: VolumeKey | None) -> str:
    place = cell.place
    return want_volume(key).address(at=place.leaf, side=place.side, anchor=cell.anchor)


def _make_facets(desk: ReviewDesk, tally: Tally, wanted: Wanted) -> tuple[Facet, ...]:
    cautions = desk.vocabulary.cautions

    def choices(
        name: str, found: Iterable[Choice], label: Callable[[str], str] = str
    ) -> tuple[Link, ...]:
        now = getattr(wanted, name)
        return tuple(
            Link(
                label=label(choice.value),
                address=wanted.address(
                    anchor="", **{name: None if choice.value == now else choice.value}
                ),
                is_here=choice.value == now,
                count=choice.count,
            )
            for choice in found
        )

    return (
        Facet(
            name="doubt",
            label="with a doubt about",
            choices=choices("doubt", tally.doubted_fields, label_of),
        ),
        Facet(
            name="caution",
            label="with a caution",
            choices=choices(
                "caution",
                tally.cautions,
                lambda id_: cautions[id_].title if id_ in cautions else id_,
            ),
        ),
        Facet(name="handler", label="dictated by", choices=choices("handler", tally.handlers)),
        Facet(name="day", label="dictated on", choices=choices("day", tally.days)),
        Facet(name="leaf", label="on the leaf", choices=_leaf_choice(wanted)),
    )


def _leaf_choice(wanted: Wanted) -> tuple[Link, ...]:
    if wanted.leaf is None:
        return ()
    return (Link(label=wanted.leaf, address=wanted.address(leaf=None), is_here=True),)


def _make_groups(
    page: WorkPage, rows: Mapping[str, Row], titles: Mapping[VolumeKey, str], *, several: bool
) -> tuple[Group, ...]:
    groups: list[Group] = []
    anchors: dict[str, int] = {}
    told: VolumeKey | None = None
    for (key, leaf, side), members in groupby(page.entries, key=_place_key):
        place = None if leaf is None else Place(leaf=leaf, side=side)
        anchor = anchor_of(place)
        # Doubtful rows first may come back to a place; an anchor names only one stretch.
        anchors[anchor] = anchors.get(anchor, 0) + 1
        if anchors[anchor] > 1:
            anchor = f"{anchor}-{anchors[anchor]}"
        groups.append(
            Group(
                title=describe_place(place) if place else "the volume itself",
                anchor=anchor,
                volume=titles.get(key, "") if several and key != told else "",
                key=key,
                leaf=leaf,
                rows=_link_rows([rows[placed.id] for placed in members if placed.id in rows]),
            )
        )
        told = key
    return tuple(group for group in groups if group.rows)


def _link_rows(rows: list[Row]) -> tuple[Row, ...]:
    """Tell each open item which one stands before it on its side."""
    linked: list[Row] = []
    for row in rows:
        last = linked[-1] if linked else None
        is_pair = last is not None and all(
            one.entry.kind is Kind.ITEM and one.entry.status in {Status.HEARD, Status.QUERIED}
            for one in (last, row)
        )
        linked.append(
            replace(row, before=f"{last.entry.id}@{last.seen}") if last and is_pair else row
        )
    return tuple(linked)


def _place_key(placed: Placed) -> tuple[VolumeKey, str | None, Any]:
    return placed.volume, placed.leaf, placed.side


def _tell_nothing(wanted: Wanted, tally: Tally) -> str:
    if wanted.is_filtered:
        return "No entry fits these filters. Choose “show all” to see the others."
    if not sum(tally.statuses.values()):
        return (
            "This log holds no entries yet; dictate or type some notes, then load the page again."
        )
    return "Everything here is void; choose “void” above to see it."
