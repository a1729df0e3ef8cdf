"""How long a folder of scans takes: ``python -m tests.benchmarks.scans.speed [COUNT] [SUFFIX]``.

Draws 16 pages of 12 megapixels, writes COUNT files of them (2,000 unless said; .jpg at
quality 90, or .tif uncompressed) into a temporary folder, each with bytes of its own, and has
them read, matched in order, looked at and compared, as ``voicelog check --scans`` does. Prints
the wall time of each part, the processor time, and how busy the machine was. The files come
from the memory of the system, not from the disk.
"""

from __future__ import annotations

import io
import os
import resource
import sys
import tempfile
import time
from pathlib import Path

from tests.checks.scans.pictures import draw_page
from voicelog.checks.scans.looking import look_at_scans
from voicelog.checks.scans.matching import ScanFolder, parse_matching, read_scan_set
from voicelog.checks.volumes import group_volumes
from voicelog.domain.entry import Entry, Kind

_PAGES = 16
_SIZE_PX = (3000, 4000)


def main() -> None:
    """Make the files, and measure."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    suffix = sys.argv[2] if len(sys.argv) > 2 else ".jpg"
    album = Entry(
        id="album", kind=Kind.VOLUME, accession="2031-007", volume="1", leaves=(count - 4) // 2
    )
    with tempfile.TemporaryDirectory(prefix="voicelog-scans-") as name:
        folder = Path(name)
        size_bytes = write_scans(folder, count, suffix)
        print(f"{count} files of 12 megapixels, {size_bytes / 1e6:.1f} MB each on average")
        began = time.perf_counter()
        scans = read_scan_set(
            [ScanFolder(path=folder)], group_volumes([album]), parse_matching(["in order"])
        )
        print(f"reading headers and matching: {time.perf_counter() - began:.1f} s")
        began = time.perf_counter()
        seen = look_at_scans(scans)
        print(
            f"looking at the pixels: {time.perf_counter() - began:.1f} s, with "
            f"{_busy_s():.1f} s of processor time in all processes"
        )
        began = time.perf_counter()
        alike, identical = len(seen.alike), len(seen.identical)
        print(
            f"comparing: {time.perf_counter() - began:.1f} s "
            f"({alike} groups alike, {identical} groups identical, {len(seen.looks)} seen)"
        )
    load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
    print(f"{os.cpu_count()} processors, load averages {load}")


def _busy_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def write_scans(folder: Path, count: int, suffix: str) -> float:
    """Write the files; return how many bytes they have on average."""
    pages = [_encode(seed, suffix) for seed in range(min(_PAGES, count))]
    for number in range(count):
        content = pages[number % len(pages)]
        # Behind the end of an image, where no reader looks; no two files are equally long.
        (folder / f"{number + 1:04d}{suffix}").write_bytes(content + bytes(number))
    return sum(map(len, pages)) / len(pages)


def _encode(seed: int, suffix: str) -> bytes:
    page = draw_page(seed, items=seed % 5, size=_SIZE_PX)
    buffer = io.BytesIO()
    kind = "JPEG" if suffix == ".jpg" else "TIFF"
    page.save(buffer, format=kind, dpi=(300, 300), **({"quality": 90} if kind == "JPEG" else {}))
    return buffer.getvalue()


if __name__ == "__main__":
    main()
