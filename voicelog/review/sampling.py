"""The blind sample: undoubted entries that a person judges like doubtful ones.

What it finds is this team's own error rate. An entry is judged by what is done with it:
confirmed as it is, it was right; a value that had to be changed was wrong.
"""

from __future__ import annotations

import hashlib
import math

from voicelog.domain.act import ActKind
from voicelog.domain.entry import Status
from voicelog.domain.error_rate import ErrorRate
from voicelog.errors import ReviewError
from voicelog.review.acting import Done
from voicelog.review.seat import Seat
from voicelog.store.entry_log import StoredEntry
from voicelog.store.log import Log


class Sampling:
    """Draws blind samples and tells what they have shown.

    Args:
        seat: the log, and who reviews it.
    """

    def __init__(self, seat: Seat) -> None:
        self._seat = seat

    def draw(self, *, percent: float) -> Done:
        """Draw a sample of the undoubted entries that no sample has held yet.

        The draw is reproducible: it depends on the log's id, the number of the sample and the
        ids of the entries, and on nothing else.

        Args:
            percent: how many of a hundred entries, at least one.

        Raises:
            ReviewError: there is nothing to draw from.
        """
        with self._seat.acting() as act:
            known = act.log.ever_sampled()
            candidates = [
                stored.entry.id
                for stored in act.log.iter_stored()
                if stored.entry.status is Status.HEARD and stored.entry.id not in known
            ]
            if not candidates:
                raise ReviewError("There are no undoubted entries to draw a sample from.")
            size = max(1, math.ceil(len(candidates) * percent / 100))
            seed = f"{act.log.facts()['uid']}/{act.log.count_samples() + 1}"
            details = {
                "percent": percent,
                "seed": seed,
                "drawn_from": len(candidates),
                "entries": draw_entries(candidates, size, seed=seed),
            }
            return act.record(ActKind.DRAW, details=details)

    def waiting(self) -> tuple[StoredEntry, ...]:
        """Return the sampled entries that were not judged yet, in display order.

        Present them among the doubtful ones, and don't say which is which.
        """
        with Log.open(self._seat.folder) as log:
            ids = log.waiting_in_sample()
            found = [log.find_entry(id_) for id_ in ids]
        return tuple(sorted((one for one in found if one), key=lambda one: one.number))

    def error_rate(self) -> ErrorRate:
        """Return what the samples of this log have shown so far."""
        with Log.open(self._seat.folder) as log:
            return log.error_rate()


def draw_entries(candidates: list[str], size: int, *, seed: str) -> list[str]:
    """Return a random sample of ids, the same for the same seed on any machine.

    The ids are put in the order of their SHA-256 behind the seed, and the first are taken.
    """
    return sorted(candidates, key=lambda id_: hashlib.sha256(f"{seed}/{id_}".encode()).hexdigest())[
        :size
    ]
