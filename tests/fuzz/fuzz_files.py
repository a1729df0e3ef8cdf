"""Feed damaged and made-up files to everything that reads files from elsewhere.

    pip install atheris
    python -m tests.fuzz.fuzz_files TARGET [-max_total_time=600]

| target | what reads it |
|---|---|
| `table` | `import-edits`: CSV and workbooks that were exported and edited |
| `terms-csv`, `terms-toml`, `terms-turtle`, `terms-json` | `vocabulary import`, term files |
| `bag` | `bring-in`: a bag as a ZIP file |
| `database` | `bring-in`: the database in a bag |
| `sound` | `transcribe`: headers of recordings, and what can be decoded behind them |
| `pages` | `salvage`: the pages of a damaged database |
| `scan` | `check --scans`: headers of images |

Whatever the bytes are, the answer is a value or one of our own errors, which is one sentence;
anything else is a crash. Each target begins with whole files of its kind, which the fuzzer then
changes; its findings become tests beside what they concern.
"""

from __future__ import annotations

import io
import logging
import sqlite3
import sys
import tempfile
import warnings
import zipfile
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

import atheris  # type: ignore[import-untyped]

with atheris.instrument_imports(include=["voicelog"], exclude=["voicelog.extraction"]):
    from PIL import Image

    from tests.recognition.recordings import make_tone, write_recording
    from tests.session.bringing_in.benches import Bench
    from voicelog.checks.scans.reading import read_scan
    from voicelog.errors import VoicelogError
    from voicelog.exports.formats import choose_format, load_writer
    from voicelog.exports.tables.edited import read_edited
    from voicelog.exports.target import new_target
    from voicelog.recognition.audio import iter_blocks, probe_recording
    from voicelog.session.bringing_in.bag_folder import open_bag
    from voicelog.session.bringing_in.guest_log import read_guest
    from voicelog.store.guest import open_guest
    from voicelog.store.log import Log
    from voicelog.store.salvage.page_file import PageFile
    from voicelog.store.salvage.tables import describe_tables, read_tables
    from voicelog.vocabulary.concepts import TermField
    from voicelog.vocabulary.exchange import read_list, write_list
    from voicelog.vocabulary.loading import load_vocabulary

PLACE = Path(tempfile.mkdtemp(prefix="voicelog-fuzz-"))
SAID = ("accession 2031-007", "volume one, the green book", "leaf two, a postcard, photo corners")


def whole_log() -> Bench:
    """Return a small log to make files of."""
    bench = Bench(PLACE / "log")
    if not bench.folder.exists():
        bench.record("morning.wav", b"sound")
        bench.say(*SAID, recording="morning.wav")
    return bench


def exported(name: str) -> bytes:
    from tests.exports.logs import consign  # noqa: PLC0415 - brings every format

    target = PLACE / f"whole-{name}"
    format_ = choose_format(name)
    with Log.open(whole_log().folder) as log, new_target(target) as unfinished:
        load_writer(format_)(consign(log), unfinished)
        unfinished.take_name()
    return target.read_bytes()


def try_table(path: Path) -> None:
    read_edited(path)


def try_terms(path: Path) -> None:
    read_list(path, field=TermField.CONDITION)


def try_bag(path: Path) -> None:
    with open_bag(path) as bag:
        read_guest(bag)


def try_database(path: Path) -> None:
    with tempfile.TemporaryDirectory(dir=PLACE) as scratch:
        open_guest(path, Path(scratch)).close()


def try_sound(path: Path) -> None:
    probe_recording(path)
    for _ in iter_blocks(path, on_damage=lambda _sentence: None):
        pass


def try_pages(path: Path) -> None:
    with closing(sqlite3.connect(whole_log().folder / "log.sqlite")) as healthy:
        tables = describe_tables(healthy)
    with PageFile(path) as file:
        read_tables(file, tables)


def try_scan(path: Path) -> None:
    read_scan(path)


def terms(suffix: str) -> Callable[[], list[bytes]]:
    def make() -> list[bytes]:
        path = PLACE / f"whole{suffix}"
        write_list(path, load_vocabulary().concepts[:12])
        return [path.read_bytes()]

    return make


def sounds() -> list[bytes]:
    tone = make_tone(seconds=0.3)
    made = []
    for name, codec in (
        ("a.wav", "pcm_s16le"),
        ("a.flac", "flac"),
        ("a.mp3", "mp3"),
        ("a.m4a", "aac"),
        ("a.ogg", "libopus"),
    ):
        try:
            made.append(write_recording(PLACE / name, tone, codec=codec).read_bytes())
        except Exception:  # noqa: BLE001, S112 - not every build can write every format
            continue
    return made


def images() -> list[bytes]:
    made = []
    for kind in ("TIFF", "JPEG", "PNG"):
        stream = io.BytesIO()
        Image.new("RGB", (24, 16), (200, 180, 150)).save(stream, kind, dpi=(300, 300))
        made.append(stream.getvalue())
    return made


def bags() -> list[bytes]:
    return [whole_log().pack(PLACE / "whole.zip", with_audio=True).read_bytes()]


def packed_databases() -> list[bytes]:
    packed = whole_log().pack(PLACE / "packed.zip", with_audio=True)
    with zipfile.ZipFile(packed) as bag:
        return [bag.read(name) for name in bag.namelist() if name.endswith("log.sqlite")]


def databases() -> list[bytes]:
    return [(whole_log().folder / "log.sqlite").read_bytes()]


TARGETS: dict[str, tuple[str, Callable[[Path], None], Callable[[], list[bytes]]]] = {
    "table": ("edited.xlsx", try_table, lambda: [exported("csv"), exported("xlsx")]),
    "terms-csv": ("terms.csv", try_terms, terms(".csv")),
    "terms-toml": (
        "terms.toml",
        try_terms,
        lambda: [Path("voicelog/vocabulary/terms/support.toml").read_bytes()],
    ),
    "terms-turtle": ("terms.ttl", try_terms, terms(".ttl")),
    "terms-json": ("terms.jsonld", try_terms, terms(".jsonld")),
    "bag": ("bag.zip", try_bag, bags),
    "database": ("log.sqlite", try_database, packed_databases),
    "sound": ("sound", try_sound, sounds),
    "pages": ("damaged.sqlite", try_pages, databases),
    "scan": ("scan.tif", try_scan, images),
}


def main() -> None:
    name, *options = sys.argv[1:]
    file_name, attempt, make_whole = TARGETS[name]
    corpus = PLACE / "corpus"
    corpus.mkdir()
    for nth, whole in enumerate(make_whole()):
        (corpus / f"whole-{nth}").write_bytes(whole)
        # That a whole file is taken says that the target is looked at from inside.
        path = PLACE / file_name
        path.write_bytes(whole)
        attempt(path)
    logging.disable(logging.CRITICAL)
    warnings.simplefilter("ignore")
    path = PLACE / file_name

    def test_one_input(data: bytes) -> None:
        path.write_bytes(data)
        with suppress(VoicelogError):
            attempt(path)

    options = [*options, "-max_len=200000", "-rss_limit_mb=6000", "-timeout=120"]
    atheris.Setup([sys.argv[0], *options, str(corpus)], test_one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
