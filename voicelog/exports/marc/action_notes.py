"""MARC 21 field 583, Action Note: what was done to a volume, and in what state it was found.

Fields and subfields are those of the MARC 21 Format for Bibliographic Data, 583; terms marked
``pda`` are from "Preservation & Digitization Actions: Terminology for MARC 21 Field 583", which
asks for $a, $c, $2 and $5 in every note and for $c as YYYYMMDD.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from voicelog.domain.entry import Entry, Status
from voicelog.exports.crosswalk import ActionTerm, Crosswalk
from voicelog.exports.volumes import VolumePart, describe_item
from voicelog.exports.wording import join_places

PDA = "pda"
NOT_PRIVATE = "1"
"""First indicator of 583 (and of 541, 561): the note may be shown."""
CONDITION_REVIEWED = ActionTerm(term="condition reviewed", list=PDA)
DISCARDED = "discarded"
WHOLE_VOLUME = "volume"


@dataclass(frozen=True, slots=True, kw_only=True)
class ActionNote:
    """One 583 field.

    Attributes:
        subfields: code and value, in the order in which they stand in the field.
    """

    subfields: tuple[tuple[str, str], ...]


def make_action_notes(volume: VolumePart, crosswalk: Crosswalk) -> tuple[ActionNote, ...]:
    """Return the action notes of a volume: its state, then each action on each day."""
    notes = [*_review_condition(volume, crosswalk)]
    for action in _in_order_of_saying(volume):
        term = crosswalk.actions.get(action, ActionTerm(term=action))
        days: dict[str, list[Entry]] = {}
        for entry in volume.entries():
            if action in entry.action:
                days.setdefault(_day(entry), []).append(entry)
        for day, entries in days.items():
            details = _Details(
                places=_name_places(entries),
                day=day,
                methods=_methods(term, entries),
                agents=_agents(entries),
                extent=_extent(entries),
                remarks=_remarks(entries) if action == DISCARDED else (),
                is_confirmed=_all_confirmed(entries),
            )
            notes.append(_make(term, details, crosswalk))
    return tuple(notes)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Details:
    places: str
    day: str
    is_confirmed: bool
    methods: tuple[str, ...] = ()
    agents: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    extent: tuple[tuple[str, str], ...] = ()
    remarks: tuple[str, ...] = ()


def _make(term: ActionTerm, details: _Details, crosswalk: Crosswalk) -> ActionNote:
    code = crosswalk.repository.marc_code
    # A pda note without its date or institution would not be one.
    is_listed = term.list and (term.list != PDA or (details.day and code))
    subfields = [
        ("3", details.places),
        ("a", term.term),
        ("c", details.day),
        *(("i", method) for method in details.methods),
        *(("k", agent) for agent in details.agents),
        *(("l", state) for state in details.states),
        *details.extent,
        *(() if details.is_confirmed else (("x", crosswalk.texts.unconfirmed),)),
        *(("z", remark) for remark in details.remarks),
        ("2", term.list if is_listed else ""),
        ("5", code),
    ]
    return ActionNote(subfields=tuple((key, value) for key, value in subfields if value))


def _review_condition(volume: VolumePart, crosswalk: Crosswalk) -> Iterable[ActionNote]:
    own = volume.entry
    if own and own.condition:
        yield _make(
            CONDITION_REVIEWED,
            _Details(
                places=WHOLE_VOLUME,
                day=_day(own),
                agents=_agents([own]),
                states=own.condition,
                is_confirmed=_all_confirmed([own]),
            ),
            crosswalk,
        )
    found = [entry for entry in volume.entries() if entry is not own and entry.condition]
    if found:
        counts = Counter(term for entry in found for term in entry.condition)
        in_order = sorted(counts.items(), key=lambda one: (-one[1], one[0]))
        yield _make(
            CONDITION_REVIEWED,
            _Details(
                places="leaves and items",
                day=max(_day(entry) for entry in found),
                agents=_agents(found),
                states=tuple(f"{term} ({count})" for term, count in in_order),
                is_confirmed=_all_confirmed(found),
            ),
            crosswalk,
        )


def _in_order_of_saying(volume: VolumePart) -> Iterable[str]:
    return dict.fromkeys(action for entry in volume.entries() for action in entry.action)


def _day(entry: Entry) -> str:
    return entry.recorded_at[:10].replace("-", "") if entry.recorded_at else ""


def _name_places(entries: list[Entry]) -> str:
    return "; ".join(
        dict.fromkeys(
            describe_item(entry) if entry.leaf is not None else WHOLE_VOLUME for entry in entries
        )
    )


def _methods(term: ActionTerm, entries: list[Entry]) -> tuple[str, ...]:
    if "{enclosure}" not in term.method:
        return (term.method,) if term.method else ()
    enclosures = dict.fromkeys(entry.enclosure for entry in entries if entry.enclosure)
    return tuple(term.method.format(enclosure=each) for each in enclosures)


def _agents(entries: list[Entry]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(entry.handler for entry in entries if entry.handler))


def _extent(entries: list[Entry]) -> tuple[tuple[str, str], ...]:
    pieces = sum(entry.quantity for entry in entries if entry.item is not None)
    return (("n", str(pieces)), ("o", "item" if pieces == 1 else "items")) if pieces else ()


def _remarks(entries: list[Entry]) -> tuple[str, ...]:
    return tuple(f"{join_places([entry])}: {entry.remark}" for entry in entries if entry.remark)


def _all_confirmed(entries: list[Entry]) -> bool:
    return all(entry.status is Status.CONFIRMED for entry in entries)
