"""How long an export of a large log takes, and how much memory, format by format.

    python -m tests.benchmarks.exports.large_log [ENTRIES] [FORMAT...]

Makes a log of invented entries (100,000 by default, 1,000 to a volume), exports it in every format
with the command itself, and prints for each the time by the clock and of the processor, the most
memory that the process held (resident set), and the size of what was written.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.benchmarks.weighed import weigh
from tests.exports.demo import CROSSWALK
from tests.exports.logs import make_log
from voicelog.domain.entry import Adhesion, Entry, Kind, Side, Status

ENTRIES = 100_000
TO_A_VOLUME = 1_000
FORMATS = ("csv", "jsonl", "csvw", "xlsx", "ead3", "ead2002", "marcxml", "mods", "dc")


def make_entry(number: int) -> Entry:
    """Return one invented entry; every thousandth is a volume."""
    volume, within = divmod(number, TO_A_VOLUME)
    place = {"accession": "2031-007", "volume": str(volume + 1)}
    if within == 0:
        return Entry(
            id=f"v{volume}",
            kind=Kind.VOLUME,
            volume_name=f"scrapbook {volume + 1}",
            binding="post binding",
            leaves=125,
            status=Status.CONFIRMED,
            **place,
        )
    return Entry(
        id=f"e{number}",
        kind=Kind.ITEM,
        leaf=str(within // 8 + 1),
        side=Side.RECTO if within % 8 < 4 else Side.VERSO,
        item=within % 4 + 1,
        item_type=("newspaper clipping",),
        attachment=("cellophane tape",),
        adhesion=Adhesion.PARTLY_LOOSE,
        condition=("yellowed", "brittle"),
        action=("left in place",),
        caption=f"Lamplighters' supper at the Quillhaven weir, number {number}",
        date="195X",
        dimensions=(108.0, 152.4),
        recorded_at="2031-05-01T10:00:00+01:00",
        handler="Ada Fenn",
        status=Status.CONFIRMED,
        notes=(number,),
        **place,
    )


def size_of(target: Path) -> int:
    """Return how many bytes were written."""
    files = target.rglob("*") if target.is_dir() else target.parent.glob(f"{target.name}*")
    return sum(file.stat().st_size for file in files if file.is_file())


def main(arguments: list[str]) -> None:
    """Make the log, export it, and print the figures."""
    count = int(arguments[0]) if arguments else ENTRIES
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        log = make_log(folder / "log", *(make_entry(number) for number in range(count)))
        print(f"{count:,} entries\n{'format':10}{'time':>8}{'processor':>12}{'memory':>11}")
        for format_name in arguments[1:] or FORMATS:
            found = weigh(
                ["export", format_name, "--log", str(log), "--out", str(folder / format_name)],
                environment={"VOICELOG_CROSSWALK_FILE": str(CROSSWALK)},
            )
            if found.status:
                raise SystemExit(f"The export as {format_name} failed.")
            written_mb = size_of(folder / format_name) / 1e6
            print(
                f"{format_name:10}{found.took_s:6.0f} s{found.processor_s:10.0f} s"
                f"{found.most_kib / 1024:7.0f} MiB   {written_mb:.1f} MB written",
                flush=True,
            )


if __name__ == "__main__":
    main(sys.argv[1:])
