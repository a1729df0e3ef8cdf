"""One name everywhere: in the record, the database, the tables, the pages and on the card."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from voicelog.domain.entry import RECORD_FIELDS
from voicelog.exports.crosswalk import FIELDS as CROSSWALK_FIELDS
from voicelog.exports.tables.rows import COLUMNS, VERSION
from voicelog.housing.paper.bench_card import FIELD_LABELS
from voicelog.review.pages.fields import FIELDS as PAGE_FIELDS
from voicelog.review.pages.fields import label_of
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import TermField


def test_the_database_has_a_column_of_the_same_name_for_every_field(tmp_path: Path) -> None:
    """Whoever opens log.sqlite finds the words of the record; the number is worked out."""
    with WritableLog.open_to_write(tmp_path / "log", made_by="voicelog test"):
        pass
    with sqlite3.connect(tmp_path / "log" / "log.sqlite") as database:
        columns = {row[1] for row in database.execute("PRAGMA table_info(entries)")}
    database.close()
    assert set(RECORD_FIELDS) - {"entry"} <= columns


def test_a_table_has_the_fields_as_columns() -> None:
    """In the same order, and the version behind them."""
    assert (*RECORD_FIELDS, VERSION) == COLUMNS


def test_what_is_edited_chosen_and_exported_is_a_field() -> None:
    """Pages, term lists and the crosswalk have no names of their own."""
    for names in ([one.name for one in PAGE_FIELDS], list(TermField), CROSSWALK_FIELDS):
        assert set(names) <= set(RECORD_FIELDS)


def test_the_card_calls_fields_what_the_pages_call_them() -> None:
    """A handler and a reviewer talk about the same thing."""
    assert {field: label_of(field) for field in FIELD_LABELS} == FIELD_LABELS
