"""Rows of the work list: an entry with the words behind each of its values."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from voicelog.domain.entry import FROM_CONTEXT, Entry, Kind, Origin, Review, Status
from voicelog.domain.note import Note, Span
from voicelog.domain.place import Place, describe_place
from voicelog.review.pages.fields import (
    FIELDS,
    PLACE_FIELDS,
    Field,
    format_value,
    is_worth_showing,
    label_of,
)
from voicelog.store.entry_log import StoredEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """One value of a row.

    Attributes:
        field: the field it fills.
        label: what stands before it.
        shown: the value in one line; empty where a doubt is about a field without one.
        origin: where it came from, in words.
        doubts: what is doubtful about it, in plain words; what also concerns a value before it
            in the row is said there.
        is_doubted: whether anything is doubtful about it.
        spans: the words behind it as JSON, ``[{"note", "start", "end"}]``, for the player.
    """

    field: str
    label: str
    shown: str
    origin: str
    doubts: tuple[str, ...]
    is_doubted: bool
    spans: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A stretch of heard text and the fields that it gave a value."""

    text: str
    fields: tuple[str, ...] = ()

    @property
    def told(self) -> str:
        """What the stretch gave, for those who can't see it marked."""
        return ", ".join(label_of(name) for name in self.fields)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardNote:
    """A note behind a row, cut where values begin and end."""

    number: int
    pieces: tuple[Piece, ...]
    has_sound: bool
    is_struck: bool
    handler: str | None
    recorded_at: str | None
    engine: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One entry as the work list shows it.

    Attributes:
        entry: the entry.
        number: its display number.
        seen: the version of the entry that this row shows; goes with every act on it.
        title: what it is, in a few words.
        values: its values in the order of the record, doubted empty ones too.
        doubts: doubts about the entry as a whole.
        empty: fields of its kind without a value.
        notes: the notes behind it.
        cautions: titles of the cautions that apply, or empty.
        is_to_hear: whether it was drawn for the blind sample and waits to be heard.
        before: the item before it on the same side, which it can be joined to, as
            "id@version"; empty where there is none.
    """

    entry: Entry
    number: int
    seen: int
    title: str
    values: tuple[Value, ...]
    doubts: tuple[str, ...]
    empty: tuple[Field, ...]
    notes: tuple[HeardNote, ...]
    cautions: str
    is_to_hear: bool = False
    before: str = ""

    @property
    def state(self) -> str:
        """The status as the page says it."""
        return str(self.entry.status)

    @property
    def can_confirm(self) -> bool:
        """Whether it can be confirmed together with others: nothing about it is doubtful."""
        return self.entry.status is Status.HEARD and not self.is_to_hear

    @property
    def is_void(self) -> bool:
        """Whether the entry was voided."""
        return self.entry.status is Status.VOID


@dataclass(frozen=True, slots=True, kw_only=True)
class RowMaker:
    """Makes rows out of entries.

    Attributes:
        notes: the notes behind the entries, by number.
        struck: the numbers of struck notes.
        spell: brings terms into the spelling that is wanted.
        numbers: display numbers by id, for relations.
        cautions: titles of the cautions by their ids.
        to_hear: the ids drawn for the blind sample that wait to be heard.
    """

    notes: Mapping[int, Note]
    struck: frozenset[int]
    spell: Callable[[str], str]
    numbers: Mapping[str, int]
    cautions: Mapping[str, str]
    to_hear: frozenset[str] = frozenset()

    def make(self, stored: StoredEntry) -> Row:
        """Return the row of an entry."""
        entry = stored.entry
        about: dict[str | None, dict[str, None]] = {}
        for doubt in entry.doubts:
            about.setdefault(doubt.field, {})[doubt.message] = None
        values: list[Value] = []
        empty: list[Field] = []
        shown_doubts: dict[str, None] = {}
        for field in FIELDS:
            if entry.kind not in field.kinds:
                continue
            has_value = is_worth_showing(entry, field.name)
            is_doubted = field.name in about
            doubts = [one for one in about.get(field.name, ()) if one not in shown_doubts]
            if field.name in PLACE_FIELDS and not is_doubted:
                continue
            if not has_value and not is_doubted:
                empty.append(field)
                continue
            # One doubt may concern several fields; it is said at the first.
            shown_doubts.update(dict.fromkeys(doubts))
            values.append(self._make_value(entry, field, tuple(doubts)))
        known = {value.field for value in values} | {field.name for field in empty}
        general = [
            message
            for field_name, messages in about.items()
            if field_name not in known or field_name is None
            for message in messages
            if message not in shown_doubts
        ]
        return Row(
            entry=entry,
            number=stored.number,
            seen=stored.version,
            title=self._make_title(entry),
            values=tuple(values),
            doubts=tuple(dict.fromkeys(general)),
            empty=tuple(empty),
            notes=tuple(self._make_heard(entry)),
            cautions="; ".join(self.cautions.get(one, one) for one in entry.cautions),
            is_to_hear=entry.id in self.to_hear,
        )

    def _make_value(self, entry: Entry, field: Field, doubts: tuple[str, ...]) -> Value:
        origin = entry.sources.get(field.name, "")
        return Value(
            field=field.name,
            label=field.label,
            shown=format_value(
                field.name,
                getattr(entry, field.name),
                spell=self.spell,
                number_of=self.numbers.get,
            ),
            origin=describe_origin(origin, field.name),
            doubts=doubts,
            is_doubted=any(doubt.field == field.name for doubt in entry.doubts),
            spans=_format_spans(origin),
        )

    def _make_title(self, entry: Entry) -> str:
        if entry.kind is Kind.VOLUME:
            return "the volume"
        if entry.kind is Kind.LEAF:
            itself = "the leaf itself" if (entry.leaf or "")[:1].isdecimal() else "itself"
            return "blank" if entry.blank else itself
        name = ", ".join(self.spell(term) for term in entry.item_type) or "item"
        many = f" × {entry.quantity}" if entry.quantity != 1 else ""
        return f"{name}{many}"

    def _make_heard(self, entry: Entry) -> Iterable[HeardNote]:
        for number in entry.notes:
            note = self.notes.get(number)
            if note is None:
                continue
            yield HeardNote(
                number=number,
                pieces=cut_text(note.text, _spans_of(entry, number)),
                has_sound=note.recording is not None and note.start_s is not None,
                is_struck=number in self.struck,
                handler=note.handler,
                recorded_at=note.recorded_at,
                engine=note.engine,
            )


def name_row(entry: Entry, spell: Callable[[str], str]) -> str:
    """Return what an entry is and where, in a few words: "ticket, leaf 14 recto"."""
    what = ", ".join(spell(term) for term in entry.item_type) or str(entry.kind)
    if entry.leaf is None:
        return what
    return f"{what}, {describe_place(Place(leaf=entry.leaf, side=entry.side))}"


def cut_text(text: str, spans: Sequence[tuple[str, Span]]) -> tuple[Piece, ...]:
    """Cut a note's text wherever the words behind a value begin or end.

    The pieces joined are the text, whatever the spans.

    >>> ticket = Span(note=1, text="ticket", first=2, last=8)
    >>> [(piece.text, piece.fields) for piece in cut_text("a ticket", [("item_type", ticket)])]
    [('a ', ()), ('ticket', ('item_type',))]
    """
    edges = {0, len(text)}
    for _, span in spans:
        edges |= {min(max(span.first, 0), len(text)), min(max(span.last, 0), len(text))}
    at = sorted(edges)
    return tuple(
        Piece(
            text=text[first:last],
            fields=tuple(
                dict.fromkeys(
                    name for name, span in spans if span.first <= first and last <= span.last
                )
            ),
        )
        for first, last in pairwise(at)
    )


def describe_origin(origin: Origin | str, field: str) -> str:
    """Say where a value came from.

    >>> describe_origin("context", "leaf")
    'carried over'
    """
    match origin:
        case Review():
            was = format_value(field, _frozen(origin.was))
            return f"set by {origin.by}, {origin.at[:16].replace('T', ' ')}; was {was or 'empty'}"
        case str():
            return "carried over" if origin == FROM_CONTEXT else origin
        case _:
            return "; ".join(f"“{span.text}”, note {span.note}" for span in origin)


def _frozen(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value


def _spans_of(entry: Entry, note: int) -> list[tuple[str, Span]]:
    return [
        (name, span)
        for name, origin in entry.sources.items()
        if not isinstance(origin, str | Review)
        for span in origin
        if span.note == note
    ]


def _format_spans(origin: Origin | str) -> str:
    if isinstance(origin, str | Review):
        return "[]"
    return json.dumps(
        [{"note": span.note, "start": span.start_s, "end": span.end_s} for span in origin]
    )
