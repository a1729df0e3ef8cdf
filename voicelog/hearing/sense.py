"""How much sense a reading makes: what the reader of notes would understand of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from voicelog.domain.note import Note
from voicelog.domain.statement import KeepWords, Statement, WriteCaption
from voicelog.extraction.reader import Reader, Surroundings
from voicelog.extraction.statements.walk import Scene

_ANYWHERE = Surroundings(scene=Scene(has_volume=True, has_leaf=True, item_types=()))
_REMEMBERED = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class Sense:
    """What a reading means, as far as one can tell without the log.

    Attributes:
        claimed: how many of its words gave a value, a place or a command.
        strange: how many fit nothing.
        doubts: how many doubts its values have.
        verbatim_from: the character where words taken as they stand begin (a caption, a
            remark); the length of the text where there are none.
    """

    claimed: int
    strange: int
    doubts: int
    verbatim_from: int


class SenseJudge:
    """Reads one note in many readings; remembers the latest ones.

    Args:
        reader: reads notes.
    """

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._judge_anew = lru_cache(maxsize=_REMEMBERED)(self._read)

    def judge(self, text: str) -> Sense:
        """Return how much sense a reading makes."""
        return self._judge_anew(text)

    def _read(self, text: str) -> Sense:
        note = Note(number=1, uid="", text=text)
        statements = self._reader.read(note, _ANYWHERE).statements
        strange = sum(_words_of(one) for one in statements if _is_strange(one))
        verbatim = [one for one in statements if _is_verbatim(one)]
        starts = [span.first for one in verbatim for span in one.spans]
        return Sense(
            claimed=sum(
                _words_of(one)
                for one in statements
                if not _is_strange(one) and not _is_verbatim(one)
            ),
            strange=strange,
            doubts=sum(len(one.doubts) for one in statements if not _is_strange(one)),
            verbatim_from=min(starts, default=len(text)),
        )


def _is_strange(statement: Statement) -> bool:
    return isinstance(statement, KeepWords) and bool(statement.doubts)


def _is_verbatim(statement: Statement) -> bool:
    return isinstance(statement, WriteCaption | KeepWords) and not _is_strange(statement)


def _words_of(statement: Statement) -> int:
    return sum(len(span.text.split()) for span in statement.spans)
