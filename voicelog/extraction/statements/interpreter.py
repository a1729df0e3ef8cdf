"""Reading the marks of one note straight on, into statements.

The walk keeps three things in mind: of what is being spoken (the target), what adjectives
wait for the item they lead into, and which words nothing has claimed yet.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from voicelog.domain.entry import RelationKind, Side
from voicelog.domain.statement import (
    NEAREST,
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
from voicelog.extraction.marks import Mark, MarkKind
from voicelog.extraction.places.grammar import PlaceReading
from voicelog.extraction.statements.leads import (
    determiner_before,
    is_clause_start,
    is_continuation,
    lead_in,
    only_between,
)
from voicelog.extraction.statements.leftovers import Leftovers
from voicelog.extraction.statements.shaping import SILENT, Swallowed, has_field, is_cue
from voicelog.extraction.statements.terms import choose_concept, fastener_in
from voicelog.extraction.statements.wording import Wording
from voicelog.extraction.tokens import Token
from voicelog.vocabulary import TermField

_ORDERS = {
    "check": Order.CHECK,
    "pause": Order.PAUSE,
    "resume": Order.RESUME,
    "read_back": Order.READ_BACK,
    "close_volume": Order.CLOSE_VOLUME,
}
_RELATIONS = {
    "inside": RelationKind.INSIDE,
    "behind": RelationKind.BEHIND,
    "under": RelationKind.UNDER,
    "overlapping": RelationKind.OVERLAPPING,
    "attached_to": RelationKind.ATTACHED_TO,
    "belongs_with": RelationKind.BELONGS_WITH,
}
_SUBJECTS = {
    "subject_leaf": Subject.LEAF,
    "subject_volume": Subject.VOLUME,
    "subject_cover": Subject.COVER,
}
_DESCRIBING = frozenset({"of", "for", "from", "about", "to", "showing", "depicting", "by", "with"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What the reader must know of the running context.

    Attributes:
        has_leaf: whether a leaf has been reached in this volume.
        has_items: whether the present side has an item.
    """

    has_leaf: bool
    has_items: bool = False


class Interpreter:
    """Turns the shaped marks of one note into statements; made anew for each note."""

    def __init__(
        self,
        tokens: Sequence[Token],
        wording: Wording,
        words: Mapping[str, frozenset[str]],
        scene: Scene,
    ) -> None:
        self._tokens = tokens
        self._wording = wording
        self._has_leaf = scene.has_leaf
        self._had_items = scene.has_items
        self._leftovers = Leftovers(tokens, wording, words)
        self._out: list[Statement] = []
        self._marks: list[Mark] = []
        self._target = NEAREST
        self._corrects = False
        self._restates = False
        self._continues = False
        self._opened = 0
        self._claimed_leads: set[int] = set()
        self._waiting_images: list[SetValue] = []
        self._paused = False
        self._handlers: dict[MarkKind, Callable[[int, Mark], bool]] = {
            MarkKind.TERM: self._take_term,
            MarkKind.CUE: self._take_cue,
            MarkKind.PLACE: self._take_place,
            MarkKind.STEP: self._take_step,
            MarkKind.RANGE: self._take_range,
            MarkKind.ACCESSION: self._take_accession,
            MarkKind.VOLUME: self._take_volume,
            MarkKind.ENCLOSURE: self._take_enclosure,
            MarkKind.IMAGES: self._take_images,
            MarkKind.DATE: self._take_date,
            MarkKind.SIZE: self._take_size,
            MarkKind.LEAVES: self._take_leaves,
            MarkKind.ASIDE: self._take_aside,
            MarkKind.ORDINAL: self._take_ordinal,
            MarkKind.NUMBER: lambda _, __: False,
            MarkKind.STRUCK: lambda _, __: True,
        }

    def interpret(self, marks: Sequence[Mark], start: int) -> list[Statement]:
        """Return the statements of the note.

        Args:
            marks: the shaped marks, in order.
            start: index of the first token that counts.
        """
        self._marks = list(marks)
        self._leftovers.begin(start)
        first = next((mark for mark in marks if not is_cue(mark, *SILENT)), None)
        self._continues = is_continuation(self._tokens, start, marks)
        if first is not None and is_cue(first, "correction"):
            self._corrects = self._restates = True
            self._continues = False
            self._target = Target(subject=Subject.LATEST)
        for index, mark in enumerate(self._marks):
            if index in self._claimed_leads:
                continue
            if self._paused and not is_cue(mark, "resume"):
                self._leftovers.claim(mark.first, mark.end)
                continue
            self._leftovers.reach(mark.first)
            if self._leads_into_item(index):
                # It waits for the item; see _take_leads.
                continue
            before = len(self._out)
            if self._handlers[mark.kind](index, mark):
                self._settle(before, mark)
            else:
                self._leftovers.pass_over(mark)
        self._leftovers.reach(len(self._tokens))
        self._out += self._leftovers.flush(self._target, replaces=False)
        self._flush_images()
        return self._out

    def _settle(self, before: int, mark: Mark) -> None:
        """Put the words left over in front of what was just said."""
        said = self._out[before:]
        opens = any(isinstance(one, OpenItem | RepeatItem) for one in said)
        kept = self._leftovers.flush(self._target, replaces=False, before=mark)
        if opens and self._leftovers.touched:
            # "a lovely postcard": the words lead into the item and belong to it.
            self._out += kept
        else:
            self._out[before:before] = kept
        self._leftovers.claim(mark.first, mark.end)

    def _span(self, mark: Mark) -> tuple[object, ...]:
        return (self._wording.span(mark.first, mark.end),)

    def _say(
        self,
        field: str,
        value: object,
        mark: Mark,
        *,
        target: Target | None = None,
        doubts: tuple[str, ...] = (),
    ) -> None:
        self._out.append(
            SetValue(
                field=field,
                value=value,
                target=target or self._target,
                replaces=self._restates,
                spans=(self._wording.span(mark.first, mark.end),),
                doubts=doubts,
            )
        )

    # Terms -----------------------------------------------------------------------------

    def _take_term(self, index: int, mark: Mark) -> bool:
        concept = choose_concept(
            mark.value,
            in_volume=self._speaks_of_volume(),
            after_volume_word=index > 0
            and is_cue(self._marks[index - 1], "volume_words")
            and self._marks[index - 1].end == mark.first,
        )
        if concept is None:
            return False
        match concept.field:
            case TermField.ITEM_TYPE:
                return self._take_item(index, mark, concept.term)
            case TermField.POSITION:
                return self._take_position(index, mark, concept.term)
            case TermField.ACTION:
                return self._take_action(index, mark, concept.term)
            case TermField.BINDING | TermField.SUPPORT | TermField.OVERLAY:
                if mark.value.aside is not None:
                    self._keep(*mark.value.aside, target=Target(subject=Subject.VOLUME))
                self._say(concept.field, concept.term, mark, target=Target(subject=Subject.VOLUME))
                return True
            case _:
                self._say(concept.field, concept.term, mark)
        if concept.term == "corroded fastener":
            fastener = fastener_in(self._tokens[mark.first : mark.end])
            if fastener:
                self._say("attachment", fastener, mark)
        return True

    def _speaks_of_volume(self) -> bool:
        return self._target.subject is Subject.VOLUME or (
            not self._has_leaf and not self._opened and self._target.subject is Subject.NEAREST
        )

    def _take_action(self, index: int, mark: Mark, term: str) -> bool:
        if term == "discarded":
            self._say("action", term, mark)
            self._keep_discarded(index, mark)
            return True
        before = self._marks[index - 1] if index else None
        if (
            term == "detached"
            and before is not None
            and has_field(before, TermField.ATTACHMENT)
            and before.end == mark.first
            and self._tokens[mark.first].norm in {"removed", "released", "remove"}
        ):
            # "tape removed" speaks of the tape, not of the item.
            self._keep(before.first, mark.end)
            return True
        self._say("action", term, mark)
        if term == "detached":
            self._say("adhesion", "loose", mark)
        return True

    def _keep_discarded(self, index: int, mark: Mark) -> None:
        """Keep what was discarded: the words before "discarded" in its clause, or after it."""
        first = mark.first
        while first > 0 and self._tokens[first - 1].is_word:
            inside = self._mark_at(first - 1)
            if inside is not None and not (
                has_field(inside, TermField.ATTACHMENT) or is_cue(inside, "degrees")
            ):
                break
            first -= 1
        first, end = self._wording.trim(first, mark.first)
        if first >= end:
            after = self._marks[index + 1] if index + 1 < len(self._marks) else None
            end = mark.end
            while end < len(self._tokens) and self._tokens[end].is_word:
                end += 1
            if after is not None and after.kind is not MarkKind.TERM and after.first < end:
                end = after.first
            first, end = self._wording.trim(mark.end, end)
        if first < end:
            self._keep(first, end)

    def _mark_at(self, token: int) -> Mark | None:
        return next((one for one in self._marks if one.first <= token < one.end), None)

    def _keep(self, first: int, end: int, *, target: Target | None = None) -> None:
        span = self._wording.span(first, end)
        self._out.append(KeepWords(text=span.text, target=target or self._target, spans=(span,)))
        self._leftovers.claim(first, end)

    # Items -----------------------------------------------------------------------------

    def _take_item(self, index: int, mark: Mark, term: str) -> bool:
        if self._describes(index, mark):
            return False
        lead = lead_in(self._marks, index, self._tokens, self._claimed_leads)
        start = self._marks[lead[0]].first if lead else mark.first
        determiner = determiner_before(self._tokens, start, self._marks, index)
        quantity = next(
            (self._marks[at].value for at in lead if self._marks[at].kind is MarkKind.NUMBER), None
        )
        if self._corrects:
            self._out.append(
                CorrectItem(item_type=(term,), quantity=quantity, spans=self._item_spans(mark))
            )
            self._take_leads(lead)
            return True
        if self._restates:
            self._out.append(
                CorrectItem(item_type=(term,), quantity=quantity, spans=self._item_spans(mark))
            )
            self._take_leads(lead)
            return True
        if determiner == "definite" or (
            self._continues and determiner is None and quantity is None
        ):
            is_all = self._target.subject is Subject.ALL
            self._target = Target(subject=Subject.ALL if is_all else Subject.ITEM, item_type=term)
            self._out.append(PointAt(target=self._target, spans=self._item_spans(mark)))
            self._take_leads(lead)
            return True
        self._continues = False
        self._target = NEAREST
        self._out.append(
            OpenItem(item_type=(term,), quantity=quantity or 1, spans=self._item_spans(mark))
        )
        self._opened += 1
        self._take_leads(lead)
        self._flush_images(to_item=True)
        return True

    def _item_spans(self, mark: Mark):  # type: ignore[no-untyped-def]
        return (self._wording.span(mark.first, mark.end),)

    def _describes(self, index: int, mark: Mark) -> bool:
        """Whether the type is part of a description: "photo of the ticket office"."""
        if not self._opened or index == 0:
            return False
        at = mark.first - 1
        while at > 0 and self._tokens[at].norm in {"the", "a", "an", "his", "her", "their"}:
            at -= 1
        return self._tokens[at].norm in _DESCRIBING - {"with", "to", "by"} and bool(
            self._leftovers.is_pending
        )

    def _take_leads(self, lead: Sequence[int]) -> None:
        """Give the adjectives that led into an item to it."""
        for at in lead:
            self._claimed_leads.add(at)
            mark = self._marks[at]
            self._leftovers.claim(mark.first, mark.end)
            if mark.kind is not MarkKind.NUMBER:
                self._handlers[mark.kind](at, mark)

    def _leads_into_item(self, index: int) -> bool:
        """Whether this mark is among the adjectives in front of an item type."""
        for at in range(index + 1, min(index + 7, len(self._marks))):
            mark = self._marks[at]
            if has_field(mark, TermField.ITEM_TYPE):
                return index in lead_in(self._marks, at, self._tokens, self._claimed_leads)
        return False

    def _take_ordinal(self, index: int, mark: Mark) -> bool:
        following = self._marks[index + 1] if index + 1 < len(self._marks) else None
        word = self._tokens[mark.end].norm if mark.end < len(self._tokens) else ""
        if (
            following is not None
            and following.first == mark.end
            and has_field(following, TermField.ITEM_TYPE)
        ):
            concept = choose_concept(following.value, in_volume=False, after_volume_word=False)
            assert concept is not None  # noqa: S101 - has_field has just said so
            self._target = Target(subject=Subject.ITEM, item_type=concept.term, ordinal=mark.value)
            self._claimed_leads.add(index + 1)
            self._leftovers.claim(mark.first, following.end)
            return True
        if word in {"one", "item"}:
            self._target = Target(subject=Subject.ITEM, ordinal=mark.value)
            self._leftovers.claim(mark.first, mark.end + 1)
            return True
        return False

    def _take_position(self, index: int, mark: Mark, term: str) -> bool:
        if self._is_damage_place(index, mark):
            return False
        if not self._has_leaf and not self._opened:
            return False
        self._say("position", term, mark)
        following = self._next_claimable(index)
        placed_before = any(
            isinstance(one, SetValue) and one.field == "position" for one in self._out[:-1]
        )
        if (
            following is not None
            and self._opens_item(following)
            and (not self._opened or placed_before)
            and is_clause_start(self._tokens, mark.first, self._marks, index)
        ):
            # "upper left, a postcard": the position waits for the item.
            waiting = self._out.pop()
            assert isinstance(waiting, SetValue)  # noqa: S101 - it was just said
            self._waiting_images.append(waiting)
        return True

    def _opens_item(self, index: int) -> bool:
        mark = self._marks[index]
        if mark.kind is MarkKind.NUMBER:
            return self._leads_into_item(index)
        if not has_field(mark, TermField.ITEM_TYPE):
            return self._leads_into_item(index)
        return determiner_before(self._tokens, mark.first, self._marks, index) != "definite"

    def _next_claimable(self, index: int) -> int | None:
        for at in range(index + 1, len(self._marks)):
            if not is_cue(self._marks[at], *SILENT, "position", "another_one"):
                return at
        return None

    def _is_damage_place(self, index: int, mark: Mark) -> bool:
        """Whether a position is where the damage is: "tear at lower left"."""
        before = self._marks[index - 1] if index else None
        while before is not None and is_cue(before, "position", "damage_places", "degrees"):
            at = self._marks.index(before)
            before = self._marks[at - 1] if at else None
        norms = [token.norm for token in self._tokens[mark.first : mark.end]]
        if (
            before is not None
            and (has_field(before, TermField.CONDITION) or has_field(before, TermField.ADHESION))
            and only_between(self._tokens, before.end, mark.first)
        ):
            has_preposition = any(
                token.norm in {"at", "in", "on", "along", "near", "across", "to", "by"}
                for token in self._tokens[before.end : mark.end]
            )
            has_pause = any(not token.is_word for token in self._tokens[before.end : mark.first])
            return has_preposition or (
                not has_pause and (norms[-1] in {"corner", "side"} or _is_local(before))
            )
        following = self._marks[index + 1] if index + 1 < len(self._marks) else None
        return (
            following is not None
            and following.first == mark.end
            and has_field(following, TermField.CONDITION)
            and (norms[-1] in {"corner", "side"} or _is_local(following))
            and not (
                before is not None
                and has_field(before, TermField.ITEM_TYPE)
                and before.end == mark.first
                and norms[-1] not in {"corner", "side"}
            )
        )

    # Cues ------------------------------------------------------------------------------

    def _take_cue(self, index: int, mark: Mark) -> bool:
        name = mark.value
        if isinstance(name, tuple):
            return self._take_verbatim(mark, *name)
        if name in _ORDERS:
            self._paused = {"pause": True, "resume": False}.get(name, self._paused)
            self._out.append(GiveOrder(order=_ORDERS[name], spans=self._item_spans(mark)))
            return True
        if name == "blank":
            return self._take_blank(index, mark)
        if name in _RELATIONS:
            return self._take_relation(index, mark, _RELATIONS[name])
        if name in _SUBJECTS or name == "volume":
            return self._take_subject(index, mark, _SUBJECTS.get(name, Subject.VOLUME))
        if name == "all_items":
            if index + 1 >= len(self._marks) and mark.end >= len(self._tokens):
                return False
            self._target = Target(subject=Subject.ALL)
            return True
        if name == "this_item":
            self._target = NEAREST
            return True
        if name in {"same", "same_but", "another_one"}:
            return self._take_repeat(index, mark, name)
        return name in {"correction", "caption_end", "repair", "undated"}

    def _take_verbatim(self, mark: Mark, name: str, swallowed: Swallowed) -> bool:
        first, end = swallowed.first, swallowed.end
        spans = (self._wording.span(first, end),) if first < end else ()
        text = spans[0].text if spans else ""
        if name == "remark":
            if text:
                self._out.append(
                    KeepWords(text=text, target=self._target, spans=spans, replaces=self._restates)
                )
            return True
        self._out.append(
            WriteCaption(
                text=text,
                is_open=swallowed.is_open,
                target=self._target,
                replaces=self._restates,
                spans=spans or (self._wording.span(mark.first, mark.end),),
            )
        )
        return True

    def _take_subject(self, index: int, mark: Mark, subject: Subject) -> bool:
        if not is_clause_start(self._tokens, mark.first, self._marks, index):
            return False
        if index + 1 >= len(self._marks) and subject is not Subject.VOLUME:
            return False
        self._target = Target(subject=subject)
        return True

    def _take_repeat(self, index: int, mark: Mark, name: str) -> bool:
        following = self._marks[index + 1] if index + 1 < len(self._marks) else None
        if name == "another_one":
            if following is not None and self._leads_or_is_item(index + 1, mark):
                return True
            if (
                following is not None
                and is_cue(following, "same", "same_but")
                and only_between(self._tokens, mark.end, following.first)
            ):
                return True
            if mark.end - mark.first == 1:
                return False
        next_word = self._tokens[mark.end].norm if mark.end < len(self._tokens) else ""
        if name == "same" and next_word and next_word[0].isalpha():
            is_marked = following is not None and following.first == mark.end
            if not is_marked:
                return False
        before = self._marks[index - 1] if index else None
        quantity = before.value if before is not None and before.kind is MarkKind.NUMBER else 1
        if before is not None and before.kind is MarkKind.NUMBER:
            self._leftovers.claim(before.first, before.end)
        self._out.append(
            RepeatItem(
                quantity=quantity,
                copies_all=name != "another_one",
                spans=self._item_spans(mark),
            )
        )
        self._opened += 1
        self._target = NEAREST
        self._restates = name == "same_but"
        return True

    def _leads_or_is_item(self, at: int, mark: Mark) -> bool:
        return self._marks[at].first == mark.end and (
            has_field(self._marks[at], TermField.ITEM_TYPE) or self._leads_into_item(at)
        )

    def _take_blank(self, index: int, mark: Mark) -> bool:
        following = self._marks[index + 1] if index + 1 < len(self._marks) else None
        if (
            following is not None
            and following.first == mark.end
            and has_field(following, TermField.ITEM_TYPE)
        ):
            return False
        near = [
            one
            for one in self._marks
            if one.kind in {MarkKind.PLACE, MarkKind.RANGE, MarkKind.STEP}
            or is_cue(one, "both_sides")
        ]
        before = [one for one in near if one.first < mark.first]
        after = [one for one in near if one.first >= mark.end and one.first - mark.end <= 3]
        if after and only_between(self._tokens, mark.end, after[0].first):
            self._say_blank(mark, [*before, after[0]])
            self._claimed_leads.add(self._marks.index(after[0]))
            self._leftovers.claim(after[0].first, after[0].end)
            return True
        self._say_blank(mark, before)
        return True

    def _say_blank(self, mark: Mark, near: Sequence[Mark]) -> None:
        spans = (self._wording.span(mark.first, mark.end),)
        last = near[-1] if near else None
        if last is not None and is_cue(last, "both_sides"):
            self._out.append(SayBlank(both_sides=True, spans=spans))
            return
        reading: PlaceReading | None = last.value if last is not None else None
        if last is None or reading is None or reading.step is not None:
            self._out.append(SayBlank(spans=spans))
            return
        if last.kind is MarkKind.RANGE:
            places = tuple((place.leaf, place.side) for place in reading.places)
            self._out.append(SayBlank(places=_join_sides(places), spans=spans))
            return
        if not any(isinstance(one, GoTo) for one in self._out) or last.first > mark.first:
            self._go(last, reading)
        is_whole_leaf = reading.place is not None and not reading.has_side
        self._out.append(SayBlank(both_sides=is_whole_leaf, spans=spans))

    def _take_relation(self, index: int, mark: Mark, kind: RelationKind) -> bool:
        at = self._next_claimable(index)
        following = self._marks[at] if at is not None else None
        word = self._tokens[mark.end].norm if mark.end < len(self._tokens) else ""
        speaks_of_it = word == "it" or self._tokens[mark.end - 1].norm in {"it", "that"}
        spans = (self._wording.span(mark.first, mark.end),)
        if following is not None and at is not None and self._names_item(at, mark):
            lead = lead_in(self._marks, at, self._tokens, self._claimed_leads)
            start = self._marks[lead[0]].first if lead else following.first
            determiner = determiner_before(self._tokens, start, self._marks, at)
            has_number = any(self._marks[one].kind is MarkKind.NUMBER for one in lead)
            concept = choose_concept(following.value, in_volume=False, after_volume_word=False)
            if concept is None:
                return False
            if determiner == "definite" or (
                determiner is None and not has_number and self._opened and not speaks_of_it
            ):
                self._out.append(SayRelation(kind=kind, to_type=concept.term, spans=spans))
                self._claimed_leads.update({at, *lead})
                self._leftovers.claim(mark.end, following.end)
                return True
            # "behind it, a ticket": the new item lies behind the one before.
            self._continues = False
            if self._take_item(at, following, concept.term):
                self._claimed_leads.add(at)
                self._leftovers.claim(mark.end, following.end)
                self._out.append(SayRelation(kind=kind, spans=spans))
                return True
            return False
        if self._opened or self._had_items:
            if speaks_of_it or (self._opened and mark.end == len(self._tokens)):
                self._out.append(SayRelation(kind=kind, spans=spans))
                if word == "it":
                    self._leftovers.claim(mark.end, mark.end + 1)
                return True
            if kind is RelationKind.OVERLAPPING:
                self._say("position", "overlapping", mark)
                return True
        return False

    def _names_item(self, at: int, mark: Mark) -> bool:
        following = self._marks[at]
        if has_field(following, TermField.ITEM_TYPE):
            return only_between(self._tokens, mark.end, following.first, loosely=True)
        return False

    # Places ----------------------------------------------------------------------------

    def _take_place(self, index: int, mark: Mark) -> bool:
        del index
        self._flush_images()
        self._go(mark, mark.value)
        return True

    def _go(self, mark: Mark, reading: PlaceReading) -> None:
        spans = (self._wording.span(mark.first, mark.end),)
        if reading.side_only is not None:
            self._out.append(
                GoTo(leaf=None, side=reading.side_only, corrects=self._corrects, spans=spans)
            )
        elif reading.place is not None:
            self._out.append(
                GoTo(
                    leaf=reading.place.leaf,
                    side=reading.place.side,
                    side_said=reading.has_side,
                    corrects=self._corrects,
                    spans=spans,
                    doubts=reading.doubts,
                )
            )
            self._has_leaf = True
        self._leave_target()

    def _leave_target(self) -> None:
        if not self._corrects:
            self._target = NEAREST
        self._opened = 0
        self._had_items = False

    def _take_step(self, index: int, mark: Mark) -> bool:
        del index
        self._flush_images()
        self._out.append(
            TakeStep(step=mark.value.step, spans=(self._wording.span(mark.first, mark.end),))
        )
        self._has_leaf = True
        self._leave_target()
        return True

    def _take_range(self, index: int, mark: Mark) -> bool:
        if any(is_cue(one, "blank") for one in self._marks[index + 1 :]):
            self._has_leaf = True
            return True
        first = mark.value.places[0]
        self._out.append(
            GoTo(
                leaf=first.leaf,
                side=first.side or Side.RECTO,
                spans=(self._wording.span(mark.first, mark.end),),
                doubts=("several places were named at once; only the first was taken",),
            )
        )
        self._has_leaf = True
        self._leave_target()
        return True

    def _take_accession(self, index: int, mark: Mark) -> bool:
        del index
        self._out.append(
            NameAccession(
                accession=mark.value,
                corrects=self._corrects,
                spans=(self._wording.span(mark.first, mark.end),),
            )
        )
        self._has_leaf = False
        self._leave_target()
        return True

    def _take_volume(self, index: int, mark: Mark) -> bool:
        del index
        reading = mark.value
        self._out.append(
            NameVolume(
                number=reading.number,
                name=reading.name,
                is_next=reading.is_next,
                names_current=reading.names_current,
                corrects=self._corrects,
                spans=(self._wording.span(mark.first, mark.end),),
            )
        )
        self._leave_target()
        if not self._corrects:
            self._target = Target(subject=Subject.VOLUME)
        return True

    # Values ----------------------------------------------------------------------------

    def _take_enclosure(self, index: int, mark: Mark) -> bool:
        del index
        self._say("enclosure", mark.value[0], mark)
        return True

    def _take_images(self, index: int, mark: Mark) -> bool:
        del index
        said = SetValue(
            field="images",
            value=tuple(mark.value),
            target=self._target,
            replaces=self._restates,
            spans=(self._wording.span(mark.first, mark.end),),
        )
        if self._target.subject is not Subject.NEAREST or self._opened:
            self._out.append(said)
        else:
            self._waiting_images.append(said)
        return True

    def _flush_images(self, *, to_item: bool = False) -> None:
        """Say what waited for an item; without one, image numbers are the side's."""
        for waiting in self._waiting_images:
            if to_item or waiting.field != "images":
                self._out.append(waiting)
            else:
                self._out.append(replace(waiting, target=Target(subject=Subject.LEAF)))
        self._waiting_images.clear()

    def _take_date(self, index: int, mark: Mark) -> bool:
        del index
        reading = mark.value
        if reading.edtf is None:
            self._out.append(
                KeepWords(
                    text=self._wording.span(mark.first, mark.end).text,
                    target=self._target,
                    spans=(self._wording.span(mark.first, mark.end),),
                    doubts=reading.doubts,
                )
            )
            return True
        for first, end in reading.aside:
            self._keep(first, end)
        self._say("date", reading.edtf, mark, doubts=reading.doubts)
        return True

    def _take_size(self, index: int, mark: Mark) -> bool:
        del index
        size = mark.value
        self._say("dimensions", (size.height_mm, size.width_mm), mark, doubts=size.doubts)
        if size.thickness is not None:
            self._keep(*size.thickness)
        return True

    def _take_leaves(self, index: int, mark: Mark) -> bool:
        del index
        if not self._speaks_of_volume() and self._target.subject is not Subject.LATEST:
            return False
        self._say("leaves", mark.value, mark, target=Target(subject=Subject.VOLUME))
        return True

    def _take_aside(self, index: int, mark: Mark) -> bool:
        del index
        self._keep(mark.first, mark.end)
        return True


def _join_sides(
    places: tuple[tuple[str, Side | None], ...],
) -> tuple[tuple[str, Side | None], ...]:
    """Make one place of both sides of a leaf: blank pages 5 and 6 are leaf 3."""
    joined: dict[str, Side | None] = {}
    for leaf, side in places:
        joined[leaf] = None if leaf in joined and joined[leaf] is not side else side
    return tuple(joined.items())


def _is_local(mark: Mark) -> bool:
    """Whether a condition has a place of its own on the item, as a tear has."""
    return any(
        concept.term
        in {
            "tear", "loss", "crease", "fold", "skinned", "abrasion", "stain, unidentified",
            "water stain", "rust stain", "tape stain", "adhesive stain", "split at fold",
        }
        for concept in mark.value.concepts
    )  # fmt: skip
