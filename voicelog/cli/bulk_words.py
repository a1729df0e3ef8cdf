"""What is said of recordings that are taken into a log: of each, and of all of them."""

from __future__ import annotations

from pathlib import Path

from voicelog.session.bulk.order import ReadingOrder, Undated
from voicelog.session.bulk.outcome import Fate, RecordingOutcome, Tally


def describe_outcome(outcome: RecordingOutcome) -> str:
    """Return one sentence on what became of a recording."""
    name = outcome.name
    match outcome.fate:
        case Fate.KNOWN:
            known_as = "" if outcome.same_as == name else f", as {outcome.same_as}"
            return f"{name} is in the log already{known_as}; nothing was added."
        case Fate.TWICE:
            return f"{name} is the same recording as {outcome.same_as}; nothing was added."
        case Fate.HEARD:
            length = f" in {outcome.duration_s:.0f} s" if outcome.duration_s else ""
            resumed = ""
            if outcome.resumed_at_s is not None:
                resumed = f", going on at {outcome.resumed_at_s:.0f} s where it was interrupted"
            return f"{name}: {_count(outcome.notes, 'note')}{length}{resumed}."
    return outcome.sentence


def describe_order(order: ReadingOrder) -> str:
    """Return one sentence on recordings that don't say when they were made, or nothing."""
    if len(order.recordings) < 2 or not order.undated:
        return ""
    how = (
        "by name"
        if order.undated_order is Undated.BY_NAME
        else "in the order in which you name them"
    )
    if order.undated == len(order.recordings):
        return f"The recordings don't say when they were made; they are read {how}."
    if order.undated == 1:
        return "1 of the recordings doesn't say when it was made; it is read last."
    return (
        f"{order.undated:,} of the recordings don't say when they were made; they are read last, "
        f"{how}."
    )


def describe_unfinished(others: int, folder: Path) -> str:
    """Return what there is to say of recordings that an earlier run left unfinished."""
    which = "1 other recording is" if others == 1 else f"{others:,} other recordings are"
    return (
        f"{which} in the log and not heard to the end; 'voicelog transcribe --log {folder}' "
        "goes on with them."
    )


def describe_tally(tally: Tally, *, by: str, jobs: int) -> str:
    """Return what hearing many recordings came to, and how well the machine was used.

    Args:
        tally: what it came to.
        by: who heard, in words.
        jobs: how many recordings were heard at once.
    """
    return (
        f"{_count(tally.heard, 'recording')} with {format_length(tally.sound_s)} of sound heard "
        f"in {format_length(tally.took_s)} by {by}: real-time factor "
        f"{tally.real_time_factor:.3f}, {100 * tally.efficiency(jobs):.0f} % of the time spent in "
        "the bare recogniser."
    )


def describe_stop(tally: Tally, folder: Path, *, notes: int) -> str:
    """Return where the work stands when somebody stopped it, and how to go on."""
    unread = f", {tally.unread} more heard and waiting for their turn" if tally.unread else ""
    return (
        f"Stopped; {_count(notes, 'note')} {'is' if notes == 1 else 'are'} stored{unread}. The "
        "same command goes on where this one stopped, and so does "
        f"'voicelog transcribe --log {folder}'."
    )


def format_length(seconds: float) -> str:
    """Return a length of time in words.

    >>> format_length(4521)
    '1 h 15 min'
    >>> format_length(95)
    '1 min 35 s'
    >>> format_length(7.25)
    '7.2 s'
    """
    if seconds < 60:
        return f"{seconds:.1f} s"
    minutes, rest_s = divmod(round(seconds), 60)
    if minutes < 60:
        return f"{minutes} min {rest_s} s"
    return f"{minutes // 60} h {minutes % 60} min"


def _count(number: int, thing: str) -> str:
    return f"{number:,} {thing}" if number == 1 else f"{number:,} {thing}s"
