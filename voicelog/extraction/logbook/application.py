"""Applying the statements of one note: the context moves, entries appear and change."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from voicelog.domain.act import is_decided
from voicelog.domain.context import Context
from voicelog.domain.entry import (
    FROM_CONTEXT,
    Doubt,
    Entry,
    Kind,
    Relation,
    Side,
    Status,
)
from voicelog.domain.note import Note, Span
from voicelog.domain.statement import (
    CorrectItem,
    GiveOrder,
    GoTo,
    KeepWords,
    NameAccession,
    NameVolume,
    OpenItem,
    Order,
    PointAt,
    RepeatItem,
    SayBlank,
    SayRelation,
    SetValue,
    Statement,
    Subject,
    TakeStep,
    Target,
    WriteCaption,
)
from voicelog.extraction.logbook import captions, places, values, volumes
from voicelog.extraction.logbook.contradictions import say_contradiction
from voicelog.extraction.logbook.register import Register, SideKey
from voicelog.extraction.logbook.targets import resolve

_ENTRY_NAMESPACE = uuid.UUID("6f0f6a34-6c55-5d4b-9a54-3f6f2b8b7f11")


class Application:
    """One note being applied to the register.

    Attributes:
        note: the note.
        context: the running context as it stands.
        before: what each changed entry was before the note; None for a new one.
        opened: ids of the items that this note has opened, in order.
        restated: (entry, field) pairs that this note has begun to restate.
        asked: id of the entry that the note answers a question about, or None.
    """

    def __init__(
        self,
        register: Register,
        context: Context,
        note: Note,
        entries_so_far: int,
        *,
        asked: str | None = None,
    ) -> None:
        self.register = register
        self.context = context
        self.note = note
        self.asked = asked
        self.before: dict[str, Entry | None] = {}
        self.opened: list[str] = []
        self.restated: set[tuple[str, str]] = set()
        self._made = entries_so_far
        self._starting_caption = context.open_caption
        self._handlers: dict[type[Statement], Callable[[Any], None]] = {
            NameAccession: lambda said: volumes.name_accession(self, said),
            NameVolume: lambda said: volumes.name_volume(self, said),
            GoTo: lambda said: places.go_to(self, said),
            TakeStep: lambda said: places.take_step(self, said),
            SayBlank: lambda said: places.say_blank(self, said),
            OpenItem: self._open_item,
            RepeatItem: self._repeat_item,
            PointAt: self._point_at,
            CorrectItem: self._correct_item,
            SetValue: lambda said: values.set_value(self, said),
            WriteCaption: lambda said: captions.write_caption(self, said),
            KeepWords: lambda said: captions.keep_words(self, said),
            SayRelation: self._say_relation,
            GiveOrder: self._obey,
        }

    def apply(self, statement: Statement) -> None:
        """Apply one statement."""
        self._handlers[type(statement)](statement)

    def finish(self) -> Context:
        """Return the context after the note."""
        context = self.context
        if self.opened:
            context = replace(context, together=tuple(self.opened))
        if context.open_caption is self._starting_caption:
            context = replace(context, open_caption=None)
        return context

    # Entries ---------------------------------------------------------------------------

    def side_key(self) -> SideKey:
        """Return the key of the present side."""
        volume = self.register.find(self.context.volume)
        return (
            self.context.accession,
            volume.volume if volume else None,
            self.context.leaf,
            self.context.side,
        )

    def make_entry(self, kind: Kind, **fields: Any) -> Entry:
        """Add a new entry at the present place and return it."""
        volume = self.register.find(self.context.volume)
        self._made += 1
        entry_id = str(uuid.uuid5(_ENTRY_NAMESPACE, f"{self.note.uid}/{self._made}"))
        carried: dict[str, Any] = {"accession": self.context.accession}
        if volume is not None:
            carried |= {"volume": volume.volume, "volume_name": volume.volume_name}
        if kind is not Kind.VOLUME:
            carried |= {"leaf": self.context.leaf, "side": self.context.side}
        given = carried | fields
        sources = {name: FROM_CONTEXT for name, value in carried.items() if value is not None}
        if kind is Kind.VOLUME:
            doubtful, field = self.context.accession_doubts, "accession"
        else:
            doubtful, field = self.context.place_doubts, "leaf"
        doubts = tuple(Doubt(message=one, field=field) for one in doubtful)
        entry = Entry(
            id=entry_id,
            kind=kind,
            recorded_at=self.note.recorded_at,
            handler=self.note.handler,
            notes=(self.note.number,),
            sources=sources,
            doubts=doubts,
            **given,
        )
        if kind is not Kind.VOLUME:
            self.context = replace(self.context, place_doubts=())
        self.before.setdefault(entry_id, None)
        self.register.put(entry)
        self.context = replace(self.context, latest=entry_id)
        return entry

    def change(self, entry: Entry, spans: tuple[Span, ...] = (), **fields: Any) -> Entry:
        """Change fields of the entry spoken of, note where they came from, and return it."""
        changed = self.change_aside(entry, spans, **fields)
        self.context = replace(self.context, latest=entry.id)
        return changed

    def change_aside(self, entry: Entry, spans: tuple[Span, ...] = (), **fields: Any) -> Entry:
        """Change fields of an entry that follows along without being spoken of.

        What a person decided stays; that the note says otherwise becomes a doubt.
        """
        fields = self._hold_back(entry, fields)
        if not fields and entry.status is Status.CONFIRMED:
            return entry
        sources = dict(entry.sources)
        for name, value in fields.items():
            if spans and name != "doubts":
                earlier = sources.get(name)
                kept = earlier if isinstance(value, tuple) and isinstance(earlier, tuple) else ()
                if (entry.id, name) in self.restated:
                    kept = tuple(one for one in kept if one.note == self.note.number)
                sources[name] = (*kept, *spans)
        notes = entry.notes
        if self.note.number not in notes:
            notes = (*notes, self.note.number)
        changed = replace(entry, notes=notes, sources=sources, **fields)
        self.before.setdefault(entry.id, entry)
        self.register.put(changed)
        return changed

    def _hold_back(self, entry: Entry, fields: dict[str, Any]) -> dict[str, Any]:
        """Return the changes of an entry without those that a person has decided otherwise."""
        held = {name: value for name, value in fields.items() if _is_held(entry, name)}
        if not held:
            return fields
        kept = {name: value for name, value in fields.items() if name not in held}
        contradictions = tuple(
            Doubt(message=say_contradiction(self.note.number, name, value), field=name)
            for name, value in held.items()
            if value != getattr(entry, name)
        )
        doubts = kept.get("doubts", entry.doubts)
        new = tuple(doubt for doubt in contradictions if doubt not in doubts)
        return {**kept, "doubts": (*doubts, *new)} if new else kept

    def doubt(self, entry: Entry, messages: tuple[str, ...], field: str | None) -> Entry:
        """Add doubts to an entry."""
        if not messages:
            return entry
        new = tuple(Doubt(message=one, field=field) for one in messages)
        kept = tuple(one for one in entry.doubts if one not in new)
        return self.change(entry, doubts=(*kept, *new))

    def clear_doubts(self, entry: Entry, field: str) -> Entry:
        """Drop the doubts about a field that has been said anew."""
        kept = tuple(one for one in entry.doubts if one.field != field)
        return entry if kept == entry.doubts else self.change(entry, doubts=kept)

    def leaf_entry(self, leaf: str, side: Side | None) -> Entry:
        """Return the entry for a place as a whole, made when there is none."""
        accession, volume, _, _ = self.side_key()
        found = self.register.leaf_entry((accession, volume, leaf, side))
        return found or self.make_entry(Kind.LEAF, leaf=leaf, side=side)

    def targets(self, target: Target, *, field: str | None = None) -> list[Entry]:
        """Return the entries that a statement is about, made when there are none."""
        return resolve(self, target, field=field)

    # Items -----------------------------------------------------------------------------

    def open_item(
        self, item_type: tuple[str, ...], quantity: int, spans: tuple[Span, ...]
    ) -> Entry:
        """Open an item on the present side and return it."""
        entry = self.make_entry(
            Kind.ITEM,
            item=self.register.last_item_number(self.side_key()) + 1,
            item_type=item_type,
            quantity=quantity,
        )
        entry = self.change(entry, spans, item_type=item_type)
        if self.context.leaf is None:
            entry = self.doubt(entry, ("no leaf was named before this item",), "leaf")
        blank = self.register.leaf_entry(self.side_key()) or self.register.leaf_entry(
            (*self.side_key()[:3], None)
        )
        if blank is not None and blank.blank:
            entry = self.doubt(entry, ("this side was said to be blank",), "leaf")
        self.opened.append(entry.id)
        self.context = replace(self.context, latest_item=entry.id)
        return entry

    def _open_item(self, said: OpenItem) -> None:
        entry = self.open_item(said.item_type, said.quantity, said.spans)
        if said.counted:
            entry = self.change(entry, said.counted, quantity=said.quantity)
        self.doubt(entry, said.doubts, "item_type")

    def _repeat_item(self, said: RepeatItem) -> None:
        items = self.register.items_of(self.side_key())
        model = items[-1] if items else self.register.find(self.context.latest_item)
        if model is None:
            entry = self.open_item((), said.quantity, said.spans)
            self.doubt(entry, ("there is no item before it to be the same as",), "item_type")
            return
        entry = self.open_item(model.item_type, said.quantity, said.spans)
        if said.counted:
            entry = self.change(entry, said.counted, quantity=said.quantity)
        if said.copies_all:
            self.change(
                entry,
                said.spans,
                attachment=model.attachment,
                adhesion=model.adhesion,
                condition=model.condition,
            )

    def _point_at(self, said: PointAt) -> None:
        for entry in self.targets(said.target):
            self.context = replace(self.context, latest=entry.id)

    def _correct_item(self, said: CorrectItem) -> None:
        latest = self.register.find(self.context.latest)
        if self.opened:
            latest = self.register.get(self.opened[-1])
        if latest is None or latest.kind is not Kind.ITEM:
            items = self.register.items_of(self.side_key())
            latest = items[-1] if items else None
        if latest is None:
            self.open_item(said.item_type, said.quantity or 1, said.spans)
            return
        changed = latest
        if said.item_type:
            changed = self.change(latest, said.spans, item_type=said.item_type)
        if said.quantity is not None:
            self.change(changed, said.counted, quantity=said.quantity)

    # Relations -------------------------------------------------------------------------

    def _say_relation(self, said: SayRelation) -> None:
        items = self.register.items_of(self.side_key())
        current = items[-1] if items else None
        if current is None:
            return
        if said.target.subject is Subject.ITEM:
            current = self.targets(said.target)[-1]
        others = [one for one in items if one.id != current.id]
        if said.is_from_previous and others:
            current, others = others[-1], [current]
        if said.to_type is not None:
            named = [one for one in others if said.to_type in one.item_type]
            if not named and said.to_type in current.item_type and others:
                named, current = [current], others[-1]
            others = named
        if not others:
            what = said.to_type or "item"
            self.doubt(current, (f"{said.kind}: there is no {what} on this side",), "relations")
            return
        relation = Relation(kind=said.kind, id=others[-1].id)
        self.change(current, said.spans, relations=(*current.relations, relation))

    # Orders ----------------------------------------------------------------------------

    def _obey(self, said: GiveOrder) -> None:
        match said.order:
            case Order.PAUSE:
                self.context = replace(self.context, is_paused=True)
            case Order.RESUME:
                self.context = replace(self.context, is_paused=False)
            case Order.CHECK:
                latest = self.register.find(self.context.latest)
                entries = [latest] if latest else self.targets(Target(subject=Subject.NEAREST))
                for entry in entries:
                    self.doubt(entry, ("the handler asked to check this",), None)
            case _:
                pass

    def write_mark(self, entry: Entry) -> None:
        """Give an item the mark that is written on it; once inscribed it never changes."""
        if entry.kind is Kind.ITEM and entry.mark is None:
            self.change(entry, mark=self.register.mark_for(entry))


_TOGETHER = (frozenset({"leaf", "side", "item"}), frozenset({"volume", "volume_name"}))
"""Fields of which one can't stay where it is while the others move on."""


def _is_held(entry: Entry, name: str) -> bool:
    group = next((names for names in _TOGETHER if name in names), frozenset({name}))
    return name != "doubts" and any(is_decided(entry, one) for one in group)
