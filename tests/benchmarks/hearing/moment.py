"""What the next note is likely to hold, worked out from what the log holds by now.

Kept for measuring: told to the recogniser that comes with voicelog, it makes no difference
(README.md). With another recogniser it may.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tests.benchmarks.hearing.expecting import HotWords
from voicelog.domain.context import Context
from voicelog.domain.entry import Entry, Kind, Status
from voicelog.vocabulary import Vocabulary

_LATEST_ROWS = 4
"""How many rows are shown to the recogniser; more would push out words of every note."""


class Moment:
    """What to expect: the words of every note, then what goes with where the handler is.

    Whisper takes what it is told for what was said before, and goes on in that manner. So the
    accession number, the volumes by their names and the latest rows of this volume are told as
    somebody would have said them: as sentences, with a full stop.

    Args:
        vocabulary: the words of every note, and what reviewers had to put right.
    """

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._volumes: dict[str, Entry] = {}
        self._items: dict[str, Entry] = {}
        self._always = vocabulary.hot_words()
        self.said: HotWords = ()

    @property
    def words(self) -> HotWords:
        """What to expect now."""
        return (*self._always, *self.said)

    def take(self, changed: Iterable[Entry], context: Context) -> None:
        """Go on from a note.

        Args:
            changed: the entries that it made or changed, in their new form.
            context: where the handler is now.
        """
        for entry in changed:
            known = self._volumes if entry.kind is Kind.VOLUME else self._items
            # What was spoken of last stands last.
            known.pop(entry.id, None)
            if entry.status is not Status.VOID and entry.kind is not Kind.LEAF:
                known[entry.id] = entry
        self.said = (*self._say_register(context), *self._say_rows(context))

    def _say_register(self, context: Context) -> Iterator[str]:
        if context.accession is None:
            return
        yield f"Accession {context.accession}."
        for volume in self._volumes.values():
            if volume.accession == context.accession and volume.volume_name:
                number = volume.volume if (volume.volume or "").isdigit() else None
                yield (
                    f"Volume {number}, {volume.volume_name}."
                    if number
                    else f"{volume.volume_name}."
                )

    def _say_rows(self, context: Context) -> Iterator[str]:
        volume = self._volumes.get(context.volume or "")
        if volume is None:
            return
        here = (volume.accession, volume.volume)
        rows = [
            one for one in self._items.values() if (one.accession, one.volume) == here and _say(one)
        ]
        yield from map(_say, rows[-_LATEST_ROWS:])


def _say(item: Entry) -> str:
    """Return an item as a note would say it: "Leaf 3 recto, snapshot, photo corners, faded."."""
    place = f"Leaf {item.leaf} {item.side or ''}".strip() if item.leaf else ""
    terms = [*item.item_type, *item.attachment, *item.condition]
    return f"{', '.join(filter(None, [place, *terms]))}." if terms else ""
