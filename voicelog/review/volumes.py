"""What is decided about a volume as a whole: its names, its confirming, its signing off."""

from __future__ import annotations

from typing import Any

from voicelog.domain.entry import Entry, Status
from voicelog.errors import ReviewError
from voicelog.review import placing
from voicelog.review.acting import Acting, name_volume


def rename(act: Acting, volume: Entry, field: str, now: Any) -> tuple[str, ...]:
    """Give a volume and all its rows another accession, number or name.

    Returns:
        what the person should know: confirmed rows keep what they have.
    """
    rows = [
        act.get(one.entry.id) for one in act.log.iter_of_volume(volume.accession, volume.volume)
    ]
    open_rows = [one for one in rows if one.status is not Status.CONFIRMED]
    placing.rename_place(act, open_rows, field, now)
    kept = len(rows) - len(open_rows)
    if not kept:
        return ()
    noun = "confirmed entry keeps" if kept == 1 else "confirmed entries keep"
    return (f"{kept} {noun} {field.replace('_', ' ')} {getattr(volume, field)}.",)


def confirm_undoubted(
    act: Acting, accession: str | None, volume: str | None, *, leaf: str | None
) -> tuple[str, ...]:
    """Confirm what nothing is doubted of, in a volume or on one leaf of it.

    Returns:
        what the person should know: entries of a blind sample wait to be judged.

    Raises:
        ReviewError: there is nothing to confirm.
    """
    waiting = act.log.waiting_in_sample()
    undoubted = [
        stored.entry
        for stored in act.log.iter_of_volume(accession, volume)
        if stored.entry.status is Status.HEARD and (leaf is None or stored.entry.leaf == leaf)
    ]
    for entry in undoubted:
        if entry.id not in waiting:
            act.decide(act.get(entry.id), {"status": Status.CONFIRMED})
    left_out = sum(entry.id in waiting for entry in undoubted)
    if len(undoubted) == left_out:
        raise ReviewError("Nothing here is undoubted and unconfirmed.")
    if not left_out:
        return ()
    noun = "entry waits" if left_out == 1 else "entries wait"
    return (f"{left_out} {noun} to be looked at one by one.",)


def require_done(act: Acting, accession: str | None, volume: str | None) -> None:
    """Make sure that a volume can be signed off.

    Raises:
        EntryLocked: it is signed off already.
        ReviewError: entries of it are not confirmed yet, or it has none.
    """
    act.require_unsigned(accession, volume)
    statuses = [one.entry.status for one in act.log.iter_of_volume(accession, volume)]
    open_ones = sum(status is not Status.CONFIRMED for status in statuses)
    if open_ones or not statuses:
        raise ReviewError(
            f"{name_volume(accession, volume)} has {open_ones or 'no'} entries"
            f"{' that are not confirmed yet' if open_ones else ''}; "
            "confirm or void each, then sign off."
        )


def require_signed(act: Acting, accession: str | None, volume: str | None) -> None:
    """Make sure that a volume is signed off.

    Raises:
        ReviewError: it is not.
    """
    if act.log.find_signature(accession, volume) is None:
        raise ReviewError(f"{name_volume(accession, volume)} is not signed off.")
