"""The running context: where the handler is and what was spoken of last."""

from __future__ import annotations

from dataclasses import dataclass

from voicelog.domain.entry import Side
from voicelog.domain.place import Place


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenCaption:
    """A caption that nothing closed before its note ended.

    Attributes:
        entry: id of the entry that it is written on.
        end_s: when the note ended, in seconds of its recording; None for typed notes.
        recording: the recording, or None.
        is_empty: whether nothing of it has been said yet.
    """

    entry: str
    end_s: float | None
    recording: str | None
    is_empty: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What stays until it is changed.

    Attributes:
        accession: the accession number, or None before one was said.
        volume: id of the volume's entry, or None.
        leaf: the leaf label, or None before the first leaf.
        side: recto, verso, or None where the place has no sides.
        latest: id of the entry spoken of last, or None since the place changed.
        latest_item: id of the item opened last, in any place.
        together: ids of the items that the last note with items opened.
        place_doubts: doubts about the place, waiting for the first entry there.
        accession_doubts: doubts about the accession number, for each volume in it.
        is_paused: whether "pause log" was said.
        open_caption: a caption that may go on in the next note.
        words_heard: how many words were heard lately, older ones counting less.
        scores_heard: the sum of their scores, weighed alike; their mean says how well this
            voice is heard.
    """

    accession: str | None = None
    volume: str | None = None
    leaf: str | None = None
    side: Side | None = None
    latest: str | None = None
    latest_item: str | None = None
    together: tuple[str, ...] = ()
    place_doubts: tuple[str, ...] = ()
    accession_doubts: tuple[str, ...] = ()
    is_paused: bool = False
    open_caption: OpenCaption | None = None
    words_heard: float = 0.0
    scores_heard: float = 0.0

    @property
    def place(self) -> Place | None:
        """The present place, or None before the first leaf."""
        return None if self.leaf is None else Place(leaf=self.leaf, side=self.side)
