"""What a log loses when a page of its database is spoiled: every page in turn, then many at once.

    python -m tests.benchmarks.faults.pages [--leaves 40] [--together 25] [--seed 1]

Each case spoils a copy of one log (a page full of ones, or of zeros), salvages it, and holds
the new log against the whole one as tests/session/test_salvaging.py does. The first case in
which something is wrong that was not named stops it.
"""

from __future__ import annotations

import argparse
import random
import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tests.session.salvage_case import Whole, check, copy, make_whole, rescue
from tests.store.test_soundness import spoil_page
from voicelog.store.soundness import Harm, find_log_damage


def suffer(whole: Whole, place: Path, pages: Sequence[int], *, with_byte: int) -> tuple[int, ...]:
    """Spoil pages, salvage, check; return how many notes, acts and entries were lost."""
    database = copy(whole, place / "damaged")
    for page in pages:
        spoil_page(database, page, with_byte=with_byte)
    harms = {damage.harm for damage in find_log_damage(place / "damaged")}
    if Harm.DAMAGED not in harms:
        raise AssertionError(f"nobody noticed that pages {pages} are spoiled")
    rescued = rescue(place / "damaged", place / "new")
    check(whole, rescued)
    counted = (
        len(whole.notes) - rescued.salvaged.notes,
        len(rescued.losses.acts),
        len(whole.entries) - len(rescued.entries),
        rescued.salvaged.read_anew,
    )
    shutil.rmtree(place)
    return counted


def tell(name: str, cases: Sequence[tuple[int, ...]], whole: Whole) -> None:
    notes, acts, entries, anew = ([case[nth] for case in cases] for nth in range(4))
    print(
        f"{name}: {len(cases)} cases, each noticed and salvaged; nothing lost at all in "
        f"{sum(not any(case) for case in cases)}; notes lost at most {max(notes)} of "
        f"{len(whole.notes)}, acts {max(acts)}, entries {max(entries)} of {len(whole.entries)}, "
        f"entries read anew and queried {max(anew)}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--leaves", type=int, default=40)
    parser.add_argument("--together", type=int, default=25)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        whole = make_whole(folder / "log", leaves=wanted.leaves)
        single = [
            suffer(whole, folder / "case", [page], with_byte=0xFF if page % 2 else 0x00)
            for page in range(1, whole.pages + 1)
        ]
        tell("one page", single, whole)
        chance = random.Random(wanted.seed)
        together = [
            suffer(
                whole,
                folder / "case",
                chance.sample(range(1, whole.pages + 1), k=chance.randint(2, 10)),
                with_byte=0xFF,
            )
            for _ in range(wanted.together)
        ]
        tell("2 to 10 pages", together, whole)


if __name__ == "__main__":
    main()
