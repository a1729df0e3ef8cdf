"""Statements: what one note says, before anyone asks which entry it belongs to.

The reader turns a note into statements; the logbook applies them, in order, to the
running context and to the entries. Every statement keeps the spans that gave it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from voicelog.domain.entry import RelationKind, Side
from voicelog.domain.note import Span


class Step(StrEnum):
    """A move that depends on where one is."""

    NEXT_LEAF = "next leaf"
    PREVIOUS_LEAF = "previous leaf"
    NEXT_PAGE = "next page"
    PREVIOUS_PAGE = "previous page"
    FACING_PAGE = "facing page"
    TURN_OVER = "turn over"


class Subject(StrEnum):
    """What a value is said of."""

    NEAREST = "nearest"
    ITEM = "item"
    LATEST = "latest"
    ALL = "all"
    LEAF = "leaf"
    VOLUME = "volume"
    COVER = "cover"


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The subject of a value, as far as the words name it.

    Attributes:
        subject: what kind of thing it is.
        item_type: the preferred term where an item was named by its type.
        also: further types named with it ("the card and the napkin are loose").
        ordinal: which item of the side, from 1, where it was counted ("the third one").
    """

    subject: Subject = Subject.NEAREST
    item_type: str | None = None
    also: tuple[str, ...] = ()
    ordinal: int | None = None


NEAREST = Target()


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One thing that a note says; the subclasses say what."""

    spans: tuple[Span, ...] = ()
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NameAccession(Statement):
    """The accession number from here on."""

    accession: str
    corrects: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class NameVolume(Statement):
    """The volume from here on, by number, by the donor's name, or by both.

    Attributes:
        number: the number said, or None.
        name: the donor's name said, or None.
        is_next: whether the volume after the present one is meant.
        names_current: whether the name is given to the present volume ("they call it ...").
        corrects: whether it restates the volume of the latest entry.
    """

    number: str | None = None
    name: str | None = None
    is_next: bool = False
    names_current: bool = False
    corrects: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GoTo(Statement):
    """A place named outright.

    Attributes:
        corrects: whether it restates the place of the latest entry.
        leaf: the leaf label, or None where only a side was named.
        side: the side named, or None.
        side_said: whether the side was said, and not just taken to be the recto.
    """

    leaf: str | None
    side: Side | None = None
    side_said: bool = True
    corrects: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeStep(Statement):
    """A place named relative to the present one."""

    step: Step


@dataclass(frozen=True, slots=True, kw_only=True)
class SayBlank(Statement):
    """Places said to be blank.

    Attributes:
        places: leaf and side of each, side None for both; empty for the place reached.
        both_sides: whether both sides of the place reached are blank.
    """

    places: tuple[tuple[str, Side | None], ...] = ()
    both_sides: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenItem(Statement):
    """A new item on the present side.

    Attributes:
        item_type: preferred terms.
        quantity: how many pieces.
        counted: the words that say how many.
    """

    item_type: tuple[str, ...]
    quantity: int = 1
    counted: tuple[Span, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatItem(Statement):
    """A new item like the one before it.

    Attributes:
        quantity: how many pieces.
        counted: the words that say how many.
        copies_all: whether attachment, adhesion and condition are copied with the type.
    """

    quantity: int = 1
    counted: tuple[Span, ...] = ()
    copies_all: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class PointAt(Statement):
    """An item spoken of again by its type, whether or not anything new is said of it."""

    target: Target


@dataclass(frozen=True, slots=True, kw_only=True)
class SetValue(Statement):
    """A value for one field of an entry.

    Attributes:
        field: the entry field.
        value: the value; list fields get one element per statement.
        target: what it is said of.
        replaces: whether it restates the field instead of adding to it.
    """

    field: str
    value: Any
    target: Target = NEAREST
    replaces: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SayRelation(Statement):
    """The current item lies in this relation to another item.

    Attributes:
        kind: the relation.
        to_type: the other item's type, or None for the item before.
        target: the item that lies so, where it was named.
        is_from_previous: whether the item before lies so to the newest ("a photo in an
            envelope"), and not the newest to the one before ("a photo with a ticket inside").
    """

    kind: RelationKind
    to_type: str | None = None
    target: Target = NEAREST
    is_from_previous: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WriteCaption(Statement):
    """What is written on or about the thing, word for word.

    Attributes:
        text: the words; "" when the note ended right after "caption reads".
        is_open: whether nothing closed the caption before the note ended.
    """

    text: str
    is_open: bool = False
    target: Target = NEAREST
    replaces: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepWords(Statement):
    """Words for the remark: said after "remark", or fitting no field."""

    text: str
    target: Target = NEAREST
    replaces: bool = False


class Order(StrEnum):
    """A command to the log itself."""

    STRIKE = "strike that"
    CHECK = "check this"
    PAUSE = "pause log"
    RESUME = "resume log"
    READ_BACK = "read that back"
    CLOSE_VOLUME = "close volume"


@dataclass(frozen=True, slots=True, kw_only=True)
class GiveOrder(Statement):
    """A spoken command."""

    order: Order


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectItem(Statement):
    """A correction that names an item type or a number of pieces."""

    item_type: tuple[str, ...] = ()
    quantity: int | None = None
    counted: tuple[Span, ...] = ()
