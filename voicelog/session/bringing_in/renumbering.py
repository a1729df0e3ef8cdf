"""Notes of another bench get numbers of this log, and its entries follow them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType

from voicelog.domain.entry import Entry, Origin
from voicelog.domain.note import Note
from voicelog.domain.redaction import MASK
from voicelog.errors import BagRefused
from voicelog.store.brought import Evidence


def renumber(entry: Entry, numbers: Mapping[int, int]) -> Entry:
    """Return an entry with the notes behind it, and behind its values, as they are here.

    Args:
        entry: an entry of the other bench.
        numbers: number there to number here, for every note it rests on.
    """
    return replace(
        entry,
        notes=tuple(numbers[number] for number in entry.notes),
        sources=MappingProxyType(
            {name: _renumber_origin(origin, numbers) for name, origin in entry.sources.items()}
        ),
    )


def _renumber_origin(origin: Origin, numbers: Mapping[int, int]) -> Origin:
    if not isinstance(origin, tuple):
        return origin
    return tuple(replace(span, note=numbers[span.note]) for span in origin)


def number_notes(
    theirs: Iterable[Evidence], ours: Iterable[Evidence], *, source: str
) -> tuple[dict[int, int], tuple[Evidence, ...]]:
    """Give every note of theirs a number here; those that are here already keep theirs.

    Returns:
        number there to number here, and the notes that are new, numbered as here.

    Raises:
        BagRefused: a note is here with other words: one of the two was redacted, and the other
            would bring the words back, or one was tampered with.
    """
    here = {evidence.note.uid: evidence.note for evidence in ours}
    following = max((note.number for note in here.values()), default=0) + 1
    numbers: dict[int, int] = {}
    new: list[Evidence] = []
    for evidence in theirs:
        note = evidence.note
        known = here.get(note.uid)
        if known is None:
            numbers[note.number] = following
            new.append(replace(evidence, note=replace(note, number=following)))
            following += 1
            continue
        if (known.text, known.words) != (note.text, note.words):
            raise _refused(note, known, source)
        numbers[note.number] = known.number
    return numbers, tuple(new)


def _refused(there: Note, here: Note, source: str) -> BagRefused:
    if MASK in there.text or MASK in here.text:
        where = "here" if MASK in here.text else "at the other bench"
        return BagRefused(
            f"The bag {source} is refused: its note {there.number} is note {here.number} here, "
            f"and words of it were redacted only {where}. Nothing was brought in; redact them at "
            "both benches, then make the bag again.",
            source=source,
        )
    return BagRefused(
        f"The bag {source} is refused: its note {there.number} is note {here.number} here, but "
        "with other words. Nothing was brought in; find out which of the two was changed.",
        source=source,
    )
