"""Words that no value claimed: nothing that was said may be lost.

Grammatical words and fillers mean nothing by themselves. Words of degree ("slightly") and
places of damage ("at the edges") go to the remark with the value they qualify, without a
doubt. Anything else goes to the remark with a doubt.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from voicelog.domain.statement import KeepWords, Statement, Target
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.statements.kinds import has_field, is_cue
from voicelog.extraction.statements.wording import Wording
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import TermField

_NEUTRAL = frozenset(
    {
        "fillers", "continues", "position", "measures", "dated", "volume_words", "enclosed_in",
        "both_sides", "subject_leaf", "subject_volume", "subject_cover", "name", "repair",
        "caption_end", "undated", "this_item", "all_items", "images", "negation", "correction",
        "inside", "contains", "behind", "under", "attached_to", "belongs_with", "same",
    }
)  # fmt: skip
_SILENT_DEGREES = frozenset(
    {"some", "few", "several", "many", "very", "quite", "rather", "fairly", "pretty", "fine",
     "well", "a", "of", "lots", "lot", "plenty", "much", "certain", "overall", "wide", "in", "all"}
)  # fmt: skip
_SILENT_PLACES = frozenset({"back", "front", "side", "sides", "surface", "image", "reverse"})


class Leftovers:
    """Collects the words between claimed marks and says what becomes of them."""

    def __init__(
        self,
        tokens: Sequence[Token],
        wording: Wording,
        words: Mapping[str, frozenset[str]],
        *,
        says_how_held: bool,
    ) -> None:
        self._tokens = tokens
        self._wording = wording
        self._function_words = words["function_words"]
        if says_how_held:
            self._function_words |= words["holding_words"]
        self._content: set[int] = set()
        self._soft: set[int] = set()
        self._claimed: set[int] = set()
        self._known: set[int] = set()
        self._cursor = 0
        self._flushed = 0
        self.touched = False

    @property
    def is_pending(self) -> bool:
        """Whether words wait that are more than grammar since the last value."""
        clause = self._cursor
        while clause > self._flushed and self._tokens[clause - 1].is_word:
            clause -= 1
        return any(
            token.norm in {"of", "for", "from", "about", "showing", "depicting"}
            for token in self._tokens[clause : self._cursor]
        )

    def begin(self, start: int) -> None:
        """Start at this token; what stands before it was struck."""
        self._cursor = self._flushed = start

    def reach(self, index: int) -> None:
        """Look at the tokens up to ``index``, which no mark covers."""
        for at in range(self._cursor, index):
            token = self._tokens[at]
            if at in self._claimed or at in self._known or not token.is_word:
                continue
            if token.norm not in self._function_words:
                self._content.add(at)
        self._cursor = max(self._cursor, index)

    def pass_over(self, mark: Mark, *, counts: bool = False) -> None:
        """Take note of a mark that meant nothing here.

        Args:
            mark: the mark.
            counts: whether it is a number of fasteners or damages ("two tears").
        """
        for at in range(mark.first, mark.end):
            if at in self._claimed:
                continue
            self._known.add(at)
            is_neutral = mark.kind is MarkKind.CUE and mark.value in _NEUTRAL
            if (
                (mark.kind is MarkKind.NUMBER and counts)
                or is_cue(mark, "degrees", "damage_places")
                or has_field(mark, TermField.POSITION)
            ):
                self._soft.add(at)
            elif not is_neutral and self._tokens[at].norm not in self._function_words:
                self._content.add(at)
        self._cursor = max(self._cursor, mark.end)

    def claim(self, first: int, end: int) -> None:
        """Take these tokens out of what is left over."""
        self._claimed.update(range(first, end))
        self._content.difference_update(range(first, end))
        self._soft.difference_update(range(first, end))
        self._cursor = max(self._cursor, end)
        self._flushed = max(self._flushed, end)

    def claim_ahead(self, first: int, end: int) -> None:
        """Take tokens that are read before their turn."""
        self._claimed.update(range(first, end))

    def flush(self, target: Target, *, before: Mark | None = None) -> list[Statement]:
        """Return the words left over since the last flush, as statements."""
        end = before.first if before is not None else len(self._tokens)
        open_tokens = sorted(at for at in self._content | self._soft if at < end)
        self._content.difference_update(open_tokens)
        kept_soft = {at for at in self._soft if at < end}
        self._soft -= kept_soft
        self.touched = bool(open_tokens) and (
            before is not None
            and not any(
                not token.is_word and token.norm != "'"
                for token in self._tokens[open_tokens[-1] : before.first]
            )
        )
        statements: list[Statement] = []
        for stretch in self._stretches(open_tokens):
            statement = self._keep(stretch, kept_soft, target, limit=end)
            if statement is not None:
                statements.append(statement)
        return statements

    def _stretches(self, open_tokens: Sequence[int]) -> list[list[int]]:
        """Group tokens that only unclaimed words stand between."""
        stretches: list[list[int]] = []
        for at in open_tokens:
            if stretches and not any(
                between in self._claimed for between in range(stretches[-1][-1], at)
            ):
                stretches[-1].append(at)
            else:
                stretches.append([at])
        return stretches

    def _keep(
        self, stretch: Sequence[int], soft: set[int], target: Target, *, limit: int
    ) -> KeepWords | None:
        first, end = stretch[0], stretch[-1] + 1
        if all(at in soft for at in stretch):
            return self._keep_soft(stretch, target)
        while first > 0 and first - 1 not in self._claimed and self._tokens[first - 1].is_word:
            first -= 1
        while end < limit and end not in self._claimed and self._tokens[end].is_word:
            end += 1
        first, end = self._wording.trim(first, end)
        if first >= end:
            return None
        span = self._wording.span(first, end)
        return KeepWords(
            text=span.text,
            target=target,
            spans=(span,),
            doubts=(f"not understood: {span.text!r}",),
        )

    def _keep_soft(self, stretch: Sequence[int], target: Target) -> KeepWords | None:
        norms = {self._tokens[at].norm for at in stretch}
        if norms <= _SILENT_DEGREES | _SILENT_PLACES:
            return None
        first, end = stretch[0], stretch[-1] + 1
        while first > 0 and first - 1 not in self._claimed and self._tokens[first - 1].is_word:
            first -= 1
        first, end = self._wording.trim(first, end)
        span = self._wording.span(first, end)
        return KeepWords(text=span.text, target=target, spans=(span,))
