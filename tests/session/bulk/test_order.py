"""In which order recordings are read."""

from __future__ import annotations

import pytest

from voicelog.session.bulk.backlog import Named
from voicelog.session.bulk.order import Undated, order_recordings
from voicelog.store.recording import Recording

MORNING, NOON = "2031-05-13T09:15:00+01:00", "2031-05-13T12:00:00+01:00"
NOON_ELSEWHERE = "2031-05-13T11:30:00+00:00"  # half past twelve in the house's own time


def named(name: str, *, at: str | None = None, heard_to_s: float = 0.0) -> Named:
    recording = Recording(
        file=name,
        uid=name,
        original_name=name,
        sha256=name,
        size_bytes=1,
        taken_at=NOON,
        recorded_at=at,
        heard_to_s=heard_to_s,
    )
    return Named(recording=recording, name=name, source=name)


@pytest.mark.parametrize(
    ("given", "read"),
    [
        # As a shell's pattern gives them: numbers in names count as numbers.
        (["REC1", "REC10", "REC2"], ["REC1", "REC2", "REC10"]),
        (["a.wav", "B.wav", "c.wav"], ["a.wav", "B.wav", "c.wav"]),
        # Somebody wrote them down in an order of their own.
        (["morning", "afternoon"], ["morning", "afternoon"]),
        (["REC2", "REC10", "REC1"], ["REC2", "REC10", "REC1"]),
    ],
)
def test_recordings_without_a_time_go_by_name_unless_somebody_chose(
    given: list[str], read: list[str]
) -> None:
    """An order that is not that of the alphabet is one that a person meant."""
    order = order_recordings([named(name) for name in given])
    assert [one.name for one in order.recordings] == read
    assert order.undated == len(given)
    assert order.undated_order is (Undated.AS_NAMED if given == read else Undated.BY_NAME) or (
        given == sorted(given, key=str.casefold)
    )


def test_time_comes_before_name_and_no_time_comes_last() -> None:
    """By the moment, whatever zone a recorder writes; then those that say nothing."""
    order = order_recordings(
        [
            named("a", at=NOON_ELSEWHERE),
            named("b"),
            named("c", at=MORNING),
            named("d", at=NOON),
        ]
    )
    assert [one.name for one in order.recordings] == ["c", "d", "a", "b"]
    assert order.undated == 1


def test_what_was_begun_goes_first() -> None:
    """Nothing comes between the notes of one recording."""
    order = order_recordings([named("a", at=MORNING), named("b", at=NOON, heard_to_s=12.5)])
    assert [one.name for one in order.recordings] == ["b", "a"]
