"""Which commands a note gives, as the logbook will read it."""

from __future__ import annotations

from dataclasses import dataclass

from voicelog.domain.note import Note
from voicelog.domain.statement import GiveOrder, Order
from voicelog.extraction.language.phrases import load_language
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene

_ORDER_CUES = ("strike", "check", "pause", "resume", "read_back", "close_volume")


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders:
    """The commands in a note.

    Attributes:
        given: the commands, in the order said.
        is_all: whether the note says nothing else.
    """

    given: tuple[Order, ...]
    is_all: bool


def order_wordings() -> frozenset[str]:
    """Return every wording of every command, in lower case."""
    cues = load_language().cues
    return frozenset(wording for name in _ORDER_CUES for wording in cues[name])


def find_orders(text: str, reader: Reader) -> Orders:
    """Return the commands in a note's words."""
    reading = reader.read(Note(number=0, uid="", text=text), Surroundings(scene=Scene()))
    given = tuple(one.order for one in reading.statements if isinstance(one, GiveOrder))
    return Orders(given=given, is_all=bool(given) and len(given) == len(reading.statements))
