"""Five minutes at the bench, as the soak of eight hours goes: ``tests/benchmarks/live/soak.py``."""

from __future__ import annotations

from pathlib import Path

from tests.benchmarks.live.soak import TEXTS, Watch, work_through
from tests.session.live.bench import spoken_sounds
from tests.session.live.bench_day import (
    BenchDay,
    BySound,
    HurriedClock,
    account_for,
    is_kept_whole,
)
from voicelog.store.log import Log

_SPEED = 40.0


def test_five_minutes_with_pauses_and_noise(tmp_path: Path) -> None:
    """No note lost, none twice, none that nobody said; every sample kept; nothing failed."""
    sounds = spoken_sounds()
    day = BenchDay(sounds, notes=31, hours=5 / 60, seed=11)
    folder = tmp_path / "log"
    watch = Watch(clock=HurriedClock(_SPEED))
    outcome, _ = work_through(day, folder, BySound(sounds, TEXTS), watch)
    with Log.open(folder) as log:
        account = account_for(day, log)
    assert (account.lost, account.doubled, account.invented) == ((), (), ())
    assert list(account.texts) == [TEXTS[spoken.sound] for spoken in day.said]
    assert is_kept_whole(day, folder / "audio")
    assert (outcome.unread, outcome.failure) == (0, None)
