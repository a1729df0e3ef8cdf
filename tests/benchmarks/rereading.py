"""How long it takes to read a large log again: ``python tests/benchmarks/rereading.py [NOTES]``.

Begins a log of invented notes in a temporary folder, has it read, teaches the vocabulary a
variant, and has it read again. Prints wall time and processor time of each reading.
"""

from __future__ import annotations

import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from itertools import count, islice
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from voicelog.domain.note import Note  # noqa: E402
from voicelog.settings import read_settings  # noqa: E402
from voicelog.store.writing import Understanding, WritableLog  # noqa: E402
from voicelog.wiring import MADE_BY  # noqa: E402
from voicelog.wiring.bench import open_bench, try_rereading  # noqa: E402

_LEAVES_IN_A_VOLUME = 60
_ON_EACH_LEAF = (
    "leaf {leaf} recto, a postcard, photo corners, freckled",
    "caption reads the lamplighters at the weir",
    "measures four and a quarter by six inches",
    "a clipping and a ticket, both yellowed, cellophane tape, lifting",
    "the ticket came off, goes in envelope {leaf}",
    "verso, blank",
)
_VARIANT = """
field = "condition"
[[concept]]
id = "foxing"
term = "foxing"
variants = ["freckled"]
"""


def say_notes() -> Iterator[str]:
    """Yield what is said over volume after volume, without end."""
    for volume in count(1):
        yield f"accession twenty thirty one dash {volume}"
        yield f"volume {volume}, post binding, black paper"
        for leaf in range(1, _LEAVES_IN_A_VOLUME + 1):
            yield from (line.format(leaf=leaf) for line in _ON_EACH_LEAF)


def make_log(folder: Path, notes: int) -> None:
    """Store notes that nobody has read yet."""
    nothing = Understanding(changed=(), order=(), struck=frozenset())
    settings = read_settings(environment={"XDG_CONFIG_HOME": str(folder.parent)})
    with open_bench(folder, settings):
        pass
    with WritableLog.open_to_write(folder, made_by=MADE_BY) as log:
        for number, text in enumerate(islice(say_notes(), notes), start=1):
            uid = str(uuid.uuid5(uuid.NAMESPACE_OID, str(number)))
            log.add_note(Note(number=number, uid=uid, text=text), nothing)


def main() -> None:
    """Measure and print."""
    notes = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "log"
        home = {"XDG_CONFIG_HOME": name}
        make_log(folder, notes)
        for what in ("first reading, every entry new", "again, nothing changed", "new variant"):
            if what == "new variant":
                terms = Path(name) / "voicelog" / "terms"
                terms.mkdir(parents=True)
                (terms / "condition.toml").write_text(_VARIANT, encoding="utf-8")
            wall, worked = time.perf_counter(), time.process_time()
            with open_bench(folder, read_settings(environment=home)) as bench:
                changed = bench.rereading.changed
            wall, worked = time.perf_counter() - wall, time.process_time() - worked
            print(f"{what}: {notes} notes, {changed} entries changed, ", end="")
            print(f"{wall:.1f} s, {worked:.1f} s of processor time")
        wall = time.perf_counter()
        tried, _ = try_rereading(folder, read_settings(environment=home))
        print(f"dry run: {tried.changed} would change, {time.perf_counter() - wall:.1f} s")


if __name__ == "__main__":
    main()
