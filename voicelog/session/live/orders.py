"""Which commands a note gives, as the logbook will read it."""

from __future__ import annotations

from dataclasses import dataclass

from voicelog.domain.note import Note
from voicelog.domain.statement import GiveOrder, Order
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders:
    """The commands in a note.

    Attributes:
        given: the commands, in the order said.
        is_all: whether the note says nothing else.
    """

    given: tuple[Order, ...]
    is_all: bool


def find_orders(text: str, reader: Reader) -> Orders:
    """Return the commands in a note's words."""
    reading = reader.read(Note(number=0, uid="", text=text), Surroundings(scene=Scene()))
    given = tuple(one.order for one in reading.statements if isinstance(one, GiveOrder))
    return Orders(given=given, is_all=bool(given) and len(given) == len(reading.statements))
