"""What is kept in mind while the marks of one note are read straight on.

Three things: of what is being spoken (the target), which adjectives wait for the item they
lead into, and which words nothing has claimed yet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from voicelog.domain.note import Span
from voicelog.domain.statement import (
    NEAREST,
    KeepWords,
    SetValue,
    Statement,
    Subject,
    Target,
)
from voicelog.extraction.marks import Mark
from voicelog.extraction.statements.kinds import SILENT, has_field, is_cue
from voicelog.extraction.statements.leads import lead_in
from voicelog.extraction.statements.leftovers import Leftovers
from voicelog.extraction.statements.wording import Wording
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import TermField


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What the reader must know of the running context.

    Attributes:
        has_volume: whether a volume has been named.
        has_leaf: whether a leaf has been reached in this volume.
        item_types: the item types already on the present side.
    """

    has_volume: bool = False
    has_leaf: bool = False
    item_types: tuple[str, ...] = ()


class Walk:
    """The state of reading one note; the modules beside this one move it on.

    Attributes:
        tokens: the note's tokens.
        marks: its shaped marks, in order.
        wording: cuts spans out of the note.
        leftovers: the words that no mark has claimed.
        out: the statements so far.
        target: what is being spoken of.
        corrects: whether the note is a correction of the latest entry.
        restates: whether values replace what the entry has instead of adding to it.
        continues: whether the note goes on about what was named before.
        opened: item types opened in this note since the last change of place.
        known_types: item types on the present side, those of this note included.
        claimed: indexes of marks already used.
        has_leaf: whether a leaf has been reached.
        waiting: values that wait for an item to be named.
        afterthoughts: names of types that say of what kind an item just named is.
    """

    def __init__(
        self,
        tokens: Sequence[Token],
        marks: Sequence[Mark],
        wording: Wording,
        leftovers: Leftovers,
        scene: Scene,
        *,
        afterthoughts: frozenset[str],
    ) -> None:
        self.tokens = tokens
        self.marks = marks
        self.wording = wording
        self.leftovers = leftovers
        self.out: list[Statement] = []
        self.target = NEAREST
        self.corrects = False
        self.restates = False
        self.continues = False
        self.opened: list[str] = []
        self.known_types = list(scene.item_types)
        self.claimed: set[int] = set()
        self.has_leaf = scene.has_leaf
        self.has_volume = scene.has_volume
        self.waiting: list[SetValue] = []
        self.afterthoughts = afterthoughts

    # Looking around --------------------------------------------------------------------

    def word(self, index: int) -> str:
        """Return the norm of a token, or "" outside the note."""
        return self.tokens[index].norm if 0 <= index < len(self.tokens) else ""

    def mark(self, index: int) -> Mark | None:
        """Return a mark, or None outside the list."""
        return self.marks[index] if 0 <= index < len(self.marks) else None

    def mark_over(self, token: int) -> Mark | None:
        """Return the mark that covers a token, or None."""
        return next((one for one in self.marks if one.first <= token < one.end), None)

    def spans(self, mark: Mark) -> tuple[Span, ...]:
        """Return the words of a mark."""
        return (self.wording.span(*mark.words),)

    def guesses(self, mark: Mark) -> tuple[str, ...]:
        """Return the doubt that a mark was read from words that only sound like it."""
        words = self.tokens[mark.first : mark.end]
        guessed = [token for token in words if token.guessed]
        if not guessed:
            return ()
        heard = " ".join(dict.fromkeys(token.text for token in guessed))
        meant = " ".join(token.norm for token in guessed)
        return (f"heard {heard!r}, taken as {meant!r} by its sound",)

    def next_meaningful(self, index: int) -> int | None:
        """Return the index of the next mark that is more than a filler."""
        for at in range(index + 1, len(self.marks)):
            if not is_cue(self.marks[at], *SILENT, "position", "another_one"):
                return at
        return None

    def lead(self, index: int) -> tuple[int, ...]:
        """Return the marks that lead into the item type at ``index``."""
        return lead_in(self.marks, index, self.tokens, self.claimed)

    def leads_into_item(self, index: int) -> bool:
        """Whether this mark is among the adjectives in front of an item type."""
        for at in range(index + 1, min(index + 7, len(self.marks))):
            if has_field(self.marks[at], TermField.ITEM_TYPE):
                return index in self.lead(at)
        return False

    def speaks_of_volume(self) -> bool:
        """Whether a value said now is the volume's."""
        return self.target.subject is Subject.VOLUME or (
            not self.has_leaf
            and not self.opened
            and self.target.subject in {Subject.NEAREST, Subject.LATEST}
        )

    # Saying ----------------------------------------------------------------------------

    def say(
        self,
        field: str,
        value: object,
        mark: Mark,
        *,
        target: Target | None = None,
        doubts: tuple[str, ...] = (),
    ) -> SetValue:
        """Add a value for a field of what is being spoken of, and return the statement."""
        said = SetValue(
            field=field,
            value=value,
            target=target or self.target,
            replaces=self.restates,
            spans=self.spans(mark),
            doubts=(*doubts, *self.guesses(mark)),
        )
        self.out.append(said)
        return said

    def keep(
        self,
        first: int,
        end: int,
        *,
        target: Target | None = None,
        doubts: tuple[str, ...] = (),
    ) -> None:
        """Put the words of these tokens into the remark."""
        span = self.wording.span(first, end)
        self.out.append(
            KeepWords(text=span.text, target=target or self.target, spans=(span,), doubts=doubts)
        )
        self.leftovers.claim(first, end)

    def leave_place(self) -> None:
        """Forget what was spoken of: the place or the volume changes."""
        if not self.corrects:
            self.target = NEAREST
        self.opened.clear()
        self.known_types.clear()

    def flush_waiting(self, *, to_item: bool = False) -> None:
        """Say what waited for an item; without one, image numbers are the side's."""
        for waiting in self.waiting:
            if to_item:
                self.out.append(replace(waiting, target=NEAREST))
            elif waiting.field != "images":
                self.out.append(waiting)
            else:
                self.out.append(replace(waiting, target=Target(subject=Subject.LEAF)))
        self.waiting.clear()
