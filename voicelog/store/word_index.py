"""The words of every entry, so that it is found by them: its caption, its remark, what was heard.

An index of SQLite's FTS5 (https://www.sqlite.org/fts5.html), kept by triggers. Case and accents
make no difference, and English endings don't either: "postcards" finds a postcard. It is no part
of the log's tables proper: it can always be made anew, and a bag goes without it.
"""

from __future__ import annotations

import unicodedata

from sqlite_utils import Database

_TOKENIZE = "porter unicode61 remove_diacritics 2"
_COLUMNS = ("caption", "remark", "heard")
_LAST_MADE = "wordings_note_change"


def has_word_index(database: Database) -> bool:
    """Whether the index is there, and whole."""
    return bool(
        database.execute(
            "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND name = ?", [_LAST_MADE]
        ).fetchone()[0]
    )


def make_word_index(database: Database) -> None:
    """Make the index where it is missing; where SQLite can't, the log goes without it."""
    if has_word_index(database) or not _can_index(database):
        return
    with database.atomic():
        _fill(database, "entries", into=database)
        database.execute(f"""
            CREATE TRIGGER wordings_note_first AFTER INSERT ON entries BEGIN
                INSERT INTO wordings (entry, caption, remark, heard)
                VALUES (NEW.id, NEW.caption, NEW.remark, {_heard("NEW")});
            END
        """)
        database.execute(f"""
            CREATE TRIGGER {_LAST_MADE} AFTER UPDATE OF caption, remark, notes ON entries
            WHEN (OLD.caption, OLD.remark, OLD.notes)
                IS NOT (NEW.caption, NEW.remark, NEW.notes)
            BEGIN
                UPDATE wordings
                SET caption = NEW.caption, remark = NEW.remark, heard = {_heard("NEW")}
                WHERE entry = NEW.id;
            END
        """)


def drop_word_index(database: Database) -> None:
    """Take the index out of the log's file."""
    if not has_word_index(database):
        return
    for trigger in ("wordings_note_first", _LAST_MADE):
        database.execute(f"DROP TRIGGER {trigger}")
    database.table("wordings").disable_fts()
    database.execute("DROP TABLE wordings")


def renew_word_index(database: Database) -> None:
    """Make the index anew from what entries and notes say now, so that nothing else is in it."""
    if not has_word_index(database):
        return
    database.execute(f"""
        UPDATE wordings SET (caption, remark, heard) = (
            SELECT caption, remark, {_heard("entries")} FROM entries WHERE id = wordings.entry
        )
    """)
    database.execute("INSERT INTO wordings_fts (wordings_fts) VALUES ('rebuild')")


def find_worded(database: Database, words: str, *, limit: int = -1) -> list[str]:
    """Return the ids of the entries that have all of some words, in the order of coming.

    Args:
        database: the log's.
        words: what a person typed; words in quotation marks stand side by side, and no other
            sign means anything.
        limit: how many entries at most; -1 for all.
    """
    wanted = _quote(database, words)
    if not wanted:
        return []
    if has_word_index(database):
        indexed = database
    elif _can_index(database):
        # A log that nobody has opened for writing, as in a bag.
        indexed = Database(memory=True, execute_plugins=False)
        _fill(database, "entries", into=indexed)
    else:
        return []
    return [
        row[0]
        for row in indexed.execute(
            "SELECT entry FROM wordings_fts JOIN wordings ON number = wordings_fts.rowid "
            "WHERE wordings_fts MATCH ? ORDER BY wordings_fts.rowid LIMIT ?",
            [wanted, limit],
        )
    ]


def _quote(database: Database, words: str) -> str:
    """Return what was typed as a query that means its words and nothing else."""
    composed = unicodedata.normalize("NFC", words)
    plain = "".join(
        sign if unicodedata.category(sign)[0] in "LMN" or sign == '"' else " " for sign in composed
    )
    return database.quote_fts(plain) if plain.replace('"', "").strip() else ""


def _fill(database: Database, table: str, *, into: Database) -> None:
    into.execute("""
        CREATE TABLE wordings (
            number INTEGER PRIMARY KEY,
            entry TEXT NOT NULL UNIQUE,
            caption TEXT,
            remark TEXT,
            heard TEXT
        ) STRICT
    """)
    rows = database.execute(
        f"SELECT id, caption, remark, {_heard(table)} FROM {table} ORDER BY birth"
    )
    into.conn.executemany(
        "INSERT INTO wordings (entry, caption, remark, heard) VALUES (?, ?, ?, ?)", rows
    )
    into.table("wordings").enable_fts(_COLUMNS, tokenize=_TOKENIZE, create_triggers=True)


def _heard(row: str) -> str:
    """Return the SQL for all that was heard in the notes behind a row of ``entries``."""
    return (
        "(SELECT group_concat(text, ' / ') FROM notes "
        f"WHERE number IN (SELECT value FROM json_each({row}.notes)))"
    )


def _can_index(database: Database) -> bool:
    return bool(database.execute("SELECT sqlite_compileoption_used('ENABLE_FTS5')").fetchone()[0])
