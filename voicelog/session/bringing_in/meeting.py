"""Two benches meet: what one logged is laid beside what the other did, place by place.

Nothing of either is lost and nothing is settled silently. What only one of them says is
taken; where both say something and it differs, ours stays and the entry is doubted, with
both values in the doubt.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from voicelog.domain.entry import Doubt, Entry, Kind, Side, Status
from voicelog.session.bringing_in.same_volume import Same, VolumeNames
from voicelog.session.bringing_in.wording import describe, name_of, name_place, say_value
from voicelog.store.brought import Brought

_UNITED = frozenset({"condition", "attachment", "action", "images", "relations", "item_type"})
"""Lists to which either bench may have added something: both stand."""
_SETTLED_ELSEWHERE = frozenset(
    {
        "id", "kind", "sources", "notes", "recorded_at", "handler", "confidence", "doubts",
        "cautions", "status", "item", "accession", "volume", "volume_name", "access", "leaf",
        "side", "quantity",
    }
)  # fmt: skip
"""Not compared where one entry is taken into another: who, when, where, and what follows."""
_NEVER_COMPARED = frozenset(
    {"id", "kind", "sources", "notes", "recorded_at", "handler", "confidence", "doubts",
     "cautions", "status"}
)  # fmt: skip
_SHARED_ENCLOSURES = ("box",)  # a box holds many things; an envelope with one number is one

SideKey = tuple[str | None, str | None, str | None, Side | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Something that the two benches say differently.

    Attributes:
        entry: id of the entry here that is doubted.
        field: the field it is about, or None.
        place: where, in words.
        message: what differs, in words.
    """

    entry: str
    field: str | None
    place: str
    message: str


@dataclass(slots=True, kw_only=True)
class Decided:
    """What is decided about an entry that is here already."""

    values: dict[str, Any] = field(default_factory=dict)
    doubts: list[Doubt] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """What comes of it.

    Attributes:
        made: the entries that are new here, as they are to stand here.
        decided: what is decided about entries that were here, by id.
        taken_into: id of an entry of the other bench to that of ours which stands for both.
        conflicts: what the two say differently.
    """

    made: tuple[Entry, ...]
    decided: Mapping[str, Decided]
    taken_into: Mapping[str, str]
    conflicts: tuple[Conflict, ...]


def meet(ours: Sequence[Entry], theirs: Sequence[Entry], brought: Mapping[str, Brought]) -> Meeting:
    """Lay the entries of another bench beside ours.

    Args:
        ours: all entries of this log, void ones too.
        theirs: all entries of the other log, in its display order, void ones too; their notes
            are numbered as they are here.
        brought: what was brought before, by id: what the other bench has not changed since
            then says nothing new.
    """
    return _Table(ours, theirs, brought).meet()


class _Table:
    """Where two logs lie side by side."""

    def __init__(
        self, ours: Sequence[Entry], theirs: Sequence[Entry], brought: Mapping[str, Brought]
    ) -> None:
        self._theirs = theirs
        self._brought = brought
        self._by_id = {entry.id: entry for entry in ours}
        self._live = {entry.id: entry for entry in ours if entry.status is not Status.VOID}
        self._names = VolumeNames(self._live.values(), theirs)
        self._made: list[Entry] = []
        self._decided: dict[str, Decided] = {}
        self._into: dict[str, str] = {
            id_: one.into for id_, one in brought.items() if one.into is not None
        }
        self._conflicts: list[Conflict] = []
        self._marks = {entry.mark: entry for entry in self._live.values() if entry.mark}
        self._enclosures: dict[tuple[str | None, str | None], Entry] = {
            (entry.accession, entry.enclosure): entry
            for entry in self._live.values()
            if entry.enclosure and entry.kind is Kind.ITEM
        }
        self._items: dict[SideKey, list[Entry]] = {}
        self._leaves: dict[SideKey, Entry] = {}
        for entry in self._live.values():
            self._remember(entry)
        # What was here before anything came: only with this can theirs be at odds.
        self._here = {key: tuple(items) for key, items in self._items.items()}

    def meet(self) -> Meeting:
        for same in self._names.pairs():
            if same.there.id not in self._by_id:
                self._agree_on_names(same)
        for entry in self._theirs:
            named = self._names.as_here(entry)
            if entry.id in self._by_id:
                self._go_on(named)
            elif entry.status is Status.VOID:
                self._made.append(named)
            else:
                self._take_in(named)
        made = tuple(self._point_anew(entry) for entry in self._made)
        return Meeting(
            made=made,
            decided=self._decided,
            taken_into=self._into,
            conflicts=tuple(self._conflicts),
        )

    def _agree_on_names(self, same: Same) -> None:
        """Give our rows the donor's name that only the other bench knew; doubt other names."""
        here, there = same.here, same.there
        if here.volume_name is None and there.volume_name is not None:
            for entry in self._live.values():
                if (entry.accession, entry.volume) == (here.accession, here.volume):
                    self._take_change_of_name(entry, there.volume_name)
        elif there.volume_name is not None and _differ(here.volume_name, there.volume_name):
            self._disagree(here, "volume_name", here.volume_name, there.volume_name)
        if there.volume != here.volume:
            self._disagree(here, "volume", here.volume, there.volume)

    def _take_change_of_name(self, entry: Entry, name: str) -> None:
        if _is_open(entry):
            self._decide(entry).values["volume_name"] = name
        elif entry.kind is Kind.VOLUME:
            self._disagree(entry, "volume_name", None, name)

    # New entries -----------------------------------------------------------------------

    def _take_in(self, entry: Entry) -> None:
        same = self._find_same(entry)
        if same is not None:
            self._into[entry.id] = same.id
            self._made.append(replace(entry, status=Status.VOID))
            self._unite(same, entry, _fields_of(entry, without=_SETTLED_ELSEWHERE))
            return
        if entry.kind is Kind.ITEM:
            entry = self._find_room(entry)
        entry = self._doubt_what_clashes(entry)
        self._remember(entry)
        self._made.append(entry)

    def _find_same(self, entry: Entry) -> Entry | None:
        """Return our entry of the same volume, or of the same leaf or side, or None."""
        if entry.kind is Kind.VOLUME:
            return self._names.volume_here(entry)
        if entry.kind is Kind.LEAF:
            return self._leaves.get(side_key(entry))
        return None

    def _find_room(self, item: Entry) -> Entry:
        """Return an item with a number that is free on its side."""
        others = self._items.get(side_key(item), ())
        number = item.item
        if any(other.item == number for other in others):
            number = max(other.item or 0 for other in others) + 1
        return replace(item, item=number)

    def _doubt_what_clashes(self, entry: Entry) -> Entry:
        doubts = [*self._clashes(entry)]
        if not doubts:
            return entry
        for doubt in doubts:
            self._tell(entry, doubt)
        # Confirmed by somebody who didn't know what we have: it is to be looked at here.
        status = Status.QUERIED if entry.status is Status.CONFIRMED else entry.status
        return replace(entry, doubts=(*entry.doubts, *doubts), status=status)

    def _clashes(self, entry: Entry) -> Iterator[Doubt]:
        here = self._here.get(side_key(entry), ())
        if entry.kind is Kind.ITEM and here:
            listed = ", ".join(f"{one.item} {name_of(one)}" for one in here)
            yield Doubt(
                message=f"this side was logged at another bench too; here it has {listed}: "
                "is this one of them?",
                field="item",
            )
        if entry.kind is Kind.LEAF and entry.blank and here:
            yield Doubt(
                message=f"said to be blank at another bench; here it has {len(here)} "
                f"{'item' if len(here) == 1 else 'items'}",
                field="blank",
            )
        blank = self._blank_here(entry)
        if entry.kind is Kind.ITEM and blank is not None:
            yield Doubt(message="this side was said to be blank here", field="leaf")
        marked = self._marks.get(entry.mark or "")
        if marked is not None:
            yield Doubt(
                message=f"the mark {entry.mark!r} is also on {describe(marked)}", field="mark"
            )
        enclosed = self._enclosures.get((entry.accession, entry.enclosure))
        if enclosed is not None and not (entry.enclosure or "").startswith(_SHARED_ENCLOSURES):
            yield Doubt(
                message=f"{entry.enclosure} is also in use for {describe(enclosed)}",
                field="enclosure",
            )

    def _blank_here(self, entry: Entry) -> Entry | None:
        accession, volume, leaf, side = side_key(entry)
        for where in (side, None):
            found = self._leaves.get((accession, volume, leaf, where))
            if found is not None and found.blank and found.id in self._live:
                return found
        return None

    # Entries that are here already -----------------------------------------------------

    def _go_on(self, theirs: Entry) -> None:
        """Take what the other bench has changed in an entry since it was brought last."""
        before = self._brought.get(theirs.id)
        base = None if before is None else self._names.as_here(before.entry)
        changed = [
            name
            for name in _fields_of(theirs, without=_NEVER_COMPARED)
            if base is None or getattr(theirs, name) != getattr(base, name)
        ]
        into = self._into.get(theirs.id)
        if into is not None:
            target = self._live.get(into)
            if target is not None:
                names = [name for name in changed if name not in _SETTLED_ELSEWHERE]
                self._unite(target, theirs, names, replaces=base)
            return
        ours = self._by_id[theirs.id]
        for name in changed:
            self._take_change(ours, theirs, name, base=base)
        self._take_status(ours, theirs, base=base)

    def _take_change(self, ours: Entry, theirs: Entry, name: str, *, base: Entry | None) -> None:
        here, there = getattr(ours, name), getattr(theirs, name)
        if here == there:
            return
        is_ours_as_it_was = _is_empty(here) if base is None else here == getattr(base, name)
        if is_ours_as_it_was and _is_open(ours):
            self._decide(ours).values[name] = there
        else:
            self._disagree(ours, name, here, there)

    def _take_status(self, ours: Entry, theirs: Entry, *, base: Entry | None) -> None:
        """Follow a confirmation or a voiding, where both have the same entry before them."""
        if base is None or theirs.status == base.status or not _is_open(ours):
            return
        decided = self._decided.get(ours.id, Decided())
        now = replace(ours, **decided.values)
        names = _fields_of(theirs, without=_NEVER_COMPARED)
        if decided.doubts or any(getattr(now, name) != getattr(theirs, name) for name in names):
            return
        if theirs.status in {Status.CONFIRMED, Status.VOID}:
            self._decide(ours).values["status"] = theirs.status

    def _unite(
        self,
        ours: Entry,
        theirs: Entry,
        names: Iterable[str],
        *,
        replaces: Entry | None = None,
    ) -> None:
        """Take what another entry says of the same volume or side into ours.

        Args:
            ours: our entry.
            theirs: the other one.
            names: the fields to take.
            replaces: what the other one said before, which we may have taken.
        """
        for name in names:
            now = self._decided.get(ours.id, Decided()).values.get(name, getattr(ours, name))
            there = getattr(theirs, name)
            if _is_empty(there) or there == now:
                continue
            before = None if replaces is None else getattr(replaces, name)
            if not _is_open(ours):
                self._disagree(ours, name, now, there)
            elif _is_empty(now) or (before is not None and now == before):
                self._decide(ours).values[name] = there
            elif name in _UNITED:
                added = tuple(part for part in there if part not in now)
                if added:
                    self._decide(ours).values[name] = (*now, *added)
            elif name == "remark":
                self._decide(ours).values[name] = f"{now}; {there}"
            else:
                self._disagree(ours, name, now, there)
        if theirs.blank and self._here.get(side_key(ours)) and not ours.blank:
            count = len(self._here[side_key(ours)])
            noun = "item" if count == 1 else "items"
            message = f"said to be blank at another bench; here it has {count} {noun}"
            self._add_doubt(ours, Doubt(message=message, field="blank"))

    def _disagree(self, ours: Entry, name: str, here: Any, there: Any) -> None:
        message = (
            f"{name.replace('_', ' ')}: here {say_value(here)}, at another bench {say_value(there)}"
        )
        self._add_doubt(ours, Doubt(message=message, field=name))

    def _add_doubt(self, ours: Entry, doubt: Doubt) -> None:
        if doubt in ours.doubts:
            # Already brought, and not yet settled.
            return
        self._decide(ours).doubts.append(doubt)
        self._tell(ours, doubt)

    def _decide(self, ours: Entry) -> Decided:
        return self._decided.setdefault(ours.id, Decided())

    def _tell(self, entry: Entry, doubt: Doubt) -> None:
        self._conflicts.append(
            Conflict(
                entry=entry.id,
                field=doubt.field,
                place=name_place(entry),
                message=doubt.message,
            )
        )

    # Keeping count ---------------------------------------------------------------------

    def _remember(self, entry: Entry) -> None:
        if entry.kind is Kind.ITEM:
            self._items.setdefault(side_key(entry), []).append(entry)
        elif entry.kind is Kind.LEAF:
            self._leaves.setdefault(side_key(entry), entry)

    def _point_anew(self, entry: Entry) -> Entry:
        """Return an entry whose relations point at what stands for their targets here."""
        if not any(tie.id in self._into for tie in entry.relations):
            return entry
        return replace(
            entry,
            relations=tuple(
                replace(tie, id=self._into.get(tie.id, tie.id)) for tie in entry.relations
            ),
        )


def side_key(entry: Entry) -> SideKey:
    """Return what an entry's side is found by."""
    return (entry.accession, entry.volume, entry.leaf, entry.side)


def _fields_of(entry: Entry, *, without: frozenset[str]) -> tuple[str, ...]:
    return tuple(name for name in entry.__dataclass_fields__ if name not in without)


def _differ(name: str | None, other: str | None) -> bool:
    return (name or "").casefold() != (other or "").casefold()


def _is_open(entry: Entry) -> bool:
    return entry.status not in {Status.CONFIRMED, Status.VOID}


def _is_empty(value: Any) -> bool:
    return value is None or value == () or value is False
