"""CSV, CSVW and the workbook, read back by other people's readers and compared with the log."""

from __future__ import annotations

import csv
import json
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.exports.demo import demo_entries
from tests.exports.logs import make_log, write
from tests.exports.schemas import find_schema
from voicelog.domain.entry import RECORD_FIELDS, Entry, Kind, Side, format_entry_record
from voicelog.errors import UsageError
from voicelog.exports.tables.rows import COLUMNS, format_value
from voicelog.exports.tables.workbook import unescape

ODD = Entry(
    id="odd",
    kind=Kind.ITEM,
    leaf="14",
    side=Side.RECTO,
    item=1,
    caption="=1+1\n\x1b[31m, “a”; 'b' _x0041_\x00",
    remark="@SUM(A1)",
    item_type=("ticket",),
)


def records(*entries: Entry) -> list[dict[str, Any]]:
    return [
        format_entry_record(entry, number=number) for number, entry in enumerate(entries, start=1)
    ]


def as_text(record: dict[str, Any]) -> list[str]:
    return [format_value(record[name]) for name in RECORD_FIELDS]


@pytest.fixture(scope="module")
def demo_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_log(tmp_path_factory.mktemp("demo") / "log", *demo_entries(), ODD)


@pytest.fixture
def expected() -> list[dict[str, Any]]:
    return records(*demo_entries(), ODD)


def test_pandas_reads_the_table(
    demo_log: Path, tmp_path: Path, expected: list[dict[str, Any]]
) -> None:
    """Every cell of every row, as text."""
    path = write("csv", demo_log, tmp_path / "entries.csv")
    frame = pd.read_csv(path, dtype=str, keep_default_na=False)
    assert list(frame.columns) == list(COLUMNS)
    for row, record in zip(frame.itertuples(index=False), expected, strict=True):
        # What begins like a formula has an apostrophe before it; the odd entry has two such.
        found = [cell.removeprefix("'") for cell in row[:-1]]
        assert found == as_text(record)


def test_a_reader_of_csv_on_the_web_reads_typed_values(
    demo_log: Path, tmp_path: Path, expected: list[dict[str, Any]]
) -> None:
    """The package csvw (an independent implementation) takes types and lists from the metadata."""
    path = write("csvw", demo_log, tmp_path / "entries.csv")
    metadata = path.with_name("entries.csv-metadata.json")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from csvw import Table  # noqa: PLC0415

        table = Table.from_file(metadata)
        assert table.check_primary_key()
        rows = list(table.iterdicts(strict=True))
    assert len(rows) == len(expected)
    for row, record in zip(rows, expected, strict=True):
        for name in RECORD_FIELDS:
            value = row[name]
            if name == "recorded_at" and value is not None:
                value = value.isoformat()
            if name == "relations":
                value = value or []
            if isinstance(value, str):
                value = value.removeprefix("'")
            if name == "dimensions":
                value = value or None
            assert value == record[name], (record["id"], name)


def test_a_name_that_is_no_url_is_made_one(demo_log: Path, tmp_path: Path) -> None:
    """The metadata names its table by a relative URL (RFC 3986), in which no space may stand."""
    write("csvw", demo_log, tmp_path / "demo entries.csv")
    metadata = json.loads((tmp_path / "demo entries.csv-metadata.json").read_text())
    assert metadata["url"] == "demo%20entries.csv"


def test_the_metadata_is_linked_data(demo_log: Path, tmp_path: Path) -> None:
    """By the published context, read with rdflib and without a network."""
    import rdflib  # noqa: PLC0415

    context = json.loads(find_schema("csvw/csvw.jsonld").read_text(encoding="utf-8"))["@context"]
    path = write("csvw", demo_log, tmp_path / "entries.csv")
    metadata = json.loads(path.with_name("entries.csv-metadata.json").read_text(encoding="utf-8"))
    metadata["@context"] = [context, metadata["@context"][1]]
    with warnings.catch_warnings():
        # rdflib's own reader of JSON-LD uses a class that rdflib calls outdated.
        warnings.simplefilter("ignore", DeprecationWarning)
        graph = rdflib.Graph().parse(data=json.dumps(metadata), format="json-ld")
    titles = list(graph.objects(predicate=rdflib.URIRef("http://purl.org/dc/terms/title")))
    assert [str(title) for title in titles] == ["Entries of a leaf-by-leaf log"]
    names = set(graph.objects(predicate=rdflib.URIRef("http://www.w3.org/ns/csvw#name")))
    assert {str(name) for name in names} == set(COLUMNS)


def sheet_rows(path: Path) -> Iterator[tuple[Any, ...]]:
    book = openpyxl.load_workbook(path)
    yield from book["entries"].iter_rows(values_only=True)


def test_openpyxl_reads_the_workbook(
    demo_log: Path, tmp_path: Path, expected: list[dict[str, Any]]
) -> None:
    """Numbers as numbers, text as text, and no cell is a formula."""
    path = write("xlsx", demo_log, tmp_path / "entries.xlsx")
    header, *rows = sheet_rows(path)
    assert header == COLUMNS
    for row, record in zip(rows, expected, strict=True):
        found = ["" if cell is None else cell for cell in row[:-1]]
        texts = [unescape(cell) if isinstance(cell, str) else str(cell) for cell in found]
        wanted = [
            # A spreadsheet has one kind of number.
            str(int(value)) if isinstance(value, float) and value.is_integer() else text
            for value, text in zip(record.values(), as_text(record), strict=True)
        ]
        assert texts == wanted
    cells = openpyxl.load_workbook(path)["entries"]
    assert {cell.data_type for row in cells.iter_rows() for cell in row} <= {"s", "n"}
    caption = cells.cell(row=len(rows) + 1, column=COLUMNS.index("caption") + 1)
    assert str(caption.value).startswith("=1+1")
    assert caption.quotePrefix


def test_a_workbook_is_the_same_bytes_each_time(demo_log: Path, tmp_path: Path) -> None:
    """No clock and no random order in the parts of the file."""
    first = write("xlsx", demo_log, tmp_path / "1.xlsx").read_bytes()
    second = write("xlsx", demo_log, tmp_path / "2.xlsx").read_bytes()
    assert first == second
    with zipfile.ZipFile(tmp_path / "1.xlsx") as archive:
        assert b"2031-05-02T15:04:05Z" in archive.read("docProps/core.xml")


def test_what_no_cell_can_hold_is_refused_whole(tmp_path: Path) -> None:
    """Cutting it would lose words; nothing is left behind."""
    log = make_log(tmp_path / "log", replace(ODD, caption="x" * 32_768))
    with pytest.raises(UsageError, match="The caption of entry 1 has 32,768 characters"):
        write("xlsx", log, tmp_path / "entries.xlsx")
    assert [path.name for path in tmp_path.iterdir()] == ["log"]
    with write("csv", log, tmp_path / "entries.csv").open(newline="") as stream:
        [row] = csv.DictReader(stream)
    assert len(row["caption"]) == 32_768


@settings(max_examples=4, deadline=None)
@given(st.lists(st.text(st.characters(codec="utf-8"), max_size=60), min_size=10, max_size=80))
def test_any_text_survives_a_workbook(
    tmp_path_factory: pytest.TempPathFactory, captions: list[str]
) -> None:
    """Control characters, line ends, and what looks like an escape or a formula."""
    folder = tmp_path_factory.mktemp("any")
    entries = [replace(ODD, id=f"e{nth}", caption=text) for nth, text in enumerate(captions)]
    _, *rows = sheet_rows(write("xlsx", make_log(folder / "log", *entries), folder / "out.xlsx"))
    column = COLUMNS.index("caption")
    assert [unescape(row[column] or "") for row in rows] == captions
