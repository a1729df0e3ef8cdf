"""A disk that is full, from the first write of a work to its last.

    mkdir small && unshare --mount --map-root-user sh -c 'mount -t tmpfs -o size=64m small small \
      && python -m tests.benchmarks.faults.full_disk small [--times 60] [--only NAME...]'

The folder given lies on a small file system of its own. Each work is done again and again with a
little more room, from none to all that it needs, so that one write after another is the first
that finds none. It must end with one sentence and never with a fault; what is left is checked
as after a kill, and with room again the same command leads to the same log.
"""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path

from tests.session.faults.scaffold import Case, Scaffold, cut_off_all
from tests.session.faults.works import STARVED

_PAGE_BYTES = 4096


def starve(scaffold: Scaffold, *, times: int) -> list[Case]:
    """Do a work with so many different amounts of room, evenly spaced."""
    most = scaffold.needs_bytes + 16 * _PAGE_BYTES
    rooms = {most * nth // times // _PAGE_BYTES * _PAGE_BYTES for nth in range(times)}
    return [scaffold.starve(room) for room in sorted(rooms)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--times", type=int, default=60)
    names = [work.name for work in STARVED]
    parser.add_argument("--only", nargs="+", choices=names, default=names)
    wanted = parser.parse_args()
    if shutil.disk_usage(wanted.folder).total > 200_000_000:
        parser.error(f"{wanted.folder} is not on a small file system of its own")
    cut_off_all(
        [work for work in STARVED if work.name in wanted.only],
        wanted.folder,
        lambda scaffold: starve(scaffold, times=wanted.times),
    )


if __name__ == "__main__":
    main()
