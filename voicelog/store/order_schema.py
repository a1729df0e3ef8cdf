"""The tables that let a large log be paged, counted and gone on with; a step of the schema."""

from __future__ import annotations

from sqlite_utils import Database

PLACES_IN_A_VOLUME_BITS = 24
"""An entry's rank is the birth of its volume's first entry, then its place in the volume.

The places of a volume are numbered in the lower bits, so that an entry that is put into a volume
moves no other volume; sixteen million entries fit into one.
"""

_IS_FIRST = (
    "({0}.status = 'queried' OR ({0}.status = 'heard' AND EXISTS "
    "(SELECT 1 FROM sampled_entries WHERE entry = {0}.id AND verdict IS NULL)))"
)
"""Whether a row of ``entries`` is looked at first: it is queried, or waits in a blind sample."""

DERIVED_TABLES = frozenset(
    {
        "volume_counts", "facets", "facet_counts", "value_counts", "kept_reading", "kept_frames",
        "kept_entries", "wordings",
    }
)  # fmt: skip
"""Tables whose rows can always be worked out from the others."""


def m023_large_logs(db: Database) -> None:
    """Ranks that leave room, counts and indexes that are kept, and where reading has come to."""
    _order_by_birth(db)
    _count_in_volumes(db)
    _keep_reading(db)
    _keep_facets(db)


def m025_facet_counts(db: Database) -> None:
    """How many entries there are in each facet; the file itself keeps count."""
    db.execute("""
        CREATE TABLE facet_counts (
            facet TEXT NOT NULL,
            value TEXT NOT NULL,
            entries INTEGER NOT NULL,
            PRIMARY KEY (facet, value)
        ) STRICT, WITHOUT ROWID
    """)
    _fill_facet_counts(db)
    db.execute("""
        CREATE TRIGGER facets_count_new AFTER INSERT ON facets BEGIN
            INSERT INTO facet_counts VALUES (NEW.facet, NEW.value, 1)
            ON CONFLICT (facet, value) DO UPDATE SET entries = entries + 1;
        END
    """)
    db.execute("""
        CREATE TRIGGER facets_count_gone AFTER DELETE ON facets BEGIN
            UPDATE facet_counts SET entries = entries - 1
            WHERE facet = OLD.facet AND value = OLD.value;
            DELETE FROM facet_counts
            WHERE facet = OLD.facet AND value = OLD.value AND entries = 0;
        END
    """)


def renew_derived(db: Database) -> None:
    """Count and index everything anew that the file derives from its entries.

    For a log whose rows were put in one by one, in whatever order.
    """
    db.execute("UPDATE entries SET birth = rowid WHERE birth = 0")
    _fill_volume_counts(db)
    _fill_facets(db)
    _fill_facet_counts(db)
    _fill_value_counts(db)


def _order_by_birth(db: Database) -> None:
    """In which order entries came into being, and ranks that leave room behind every volume."""
    db.execute("ALTER TABLE entries ADD COLUMN birth INTEGER NOT NULL DEFAULT 0")
    db.execute("UPDATE entries SET birth = rowid")
    db.execute("CREATE INDEX entries_by_birth ON entries (birth)")
    db.execute(f"""
        WITH placed AS (
            SELECT id AS entry, (min(birth) OVER its << {PLACES_IN_A_VOLUME_BITS})
                + row_number() OVER (its ORDER BY rank) - 1 AS wanted
            FROM entries WINDOW its AS (PARTITION BY accession, volume)
        )
        UPDATE entries SET rank = wanted FROM placed WHERE entry = id
    """)
    db.execute("DROP INDEX entries_by_rank")
    db.execute("CREATE INDEX entries_shown_by_rank ON entries (rank) WHERE status <> 'void'")
    db.execute("CREATE INDEX entries_by_status ON entries (status, rank)")
    # With the status in it, entries of a volume are counted without looking at them.
    db.execute("DROP INDEX entries_by_volume")
    db.execute(
        "CREATE INDEX entries_by_volume_and_rank ON entries (accession, volume, rank, status)"
    )
    db.execute("CREATE INDEX entries_related ON entries (id) WHERE relations <> '[]'")
    db.execute("CREATE INDEX sampled_waiting ON sampled_entries (entry) WHERE verdict IS NULL")
    db.execute("CREATE INDEX entry_changes_by_time ON entry_changes (at)")
    db.execute("CREATE INDEX entries_by_mark ON entries (mark) WHERE mark IS NOT NULL")


def _count_in_volumes(db: Database) -> None:
    """How many entries of each status every volume has; the file itself keeps count."""
    db.execute("""
        CREATE TABLE volume_counts (
            place TEXT PRIMARY KEY,
            accession TEXT,
            volume TEXT,
            birth INTEGER NOT NULL,
            heard INTEGER NOT NULL,
            queried INTEGER NOT NULL,
            confirmed INTEGER NOT NULL,
            void INTEGER NOT NULL
        ) STRICT, WITHOUT ROWID
    """)
    db.execute("CREATE INDEX volume_counts_by_birth ON volume_counts (birth)")
    _fill_volume_counts(db)
    count_in = """
        INSERT INTO volume_counts VALUES (
            json_array(NEW.accession, NEW.volume), NEW.accession, NEW.volume, NEW.birth,
            NEW.status = 'heard', NEW.status = 'queried', NEW.status = 'confirmed',
            NEW.status = 'void'
        )
        ON CONFLICT (place) DO UPDATE SET
            birth = min(birth, excluded.birth), heard = heard + excluded.heard,
            queried = queried + excluded.queried, confirmed = confirmed + excluded.confirmed,
            void = void + excluded.void
    """
    db.execute(f"CREATE TRIGGER entries_count_new AFTER INSERT ON entries BEGIN {count_in}; END")
    db.execute(f"""
        CREATE TRIGGER entries_count_change
        AFTER UPDATE OF accession, volume, status, birth ON entries
        WHEN (OLD.accession, OLD.volume, OLD.status, OLD.birth)
            IS NOT (NEW.accession, NEW.volume, NEW.status, NEW.birth)
        BEGIN
            UPDATE volume_counts SET
                heard = heard - (OLD.status = 'heard'),
                queried = queried - (OLD.status = 'queried'),
                confirmed = confirmed - (OLD.status = 'confirmed'),
                void = void - (OLD.status = 'void')
            WHERE place = json_array(OLD.accession, OLD.volume);
            {count_in};
            UPDATE volume_counts SET birth = coalesce(
                (SELECT min(entries.birth) FROM entries
                 WHERE accession IS OLD.accession AND volume IS OLD.volume), birth
            )
            WHERE place = json_array(OLD.accession, OLD.volume) AND birth = OLD.birth;
            DELETE FROM volume_counts WHERE place = json_array(OLD.accession, OLD.volume)
                AND heard + queried + confirmed + void = 0;
        END
    """)


def _keep_reading(db: Database) -> None:
    """Where reading has come to, so that a log is opened without reading all notes again.

    ``kept_entries`` holds what differs from ``entries``: an entry as the notes give it where it
    is stored otherwise, or null where the notes don't give it.
    """
    db.execute("""
        CREATE TABLE kept_reading (
            only INTEGER PRIMARY KEY CHECK (only = 1),
            note INTEGER NOT NULL,
            act INTEGER NOT NULL,
            way TEXT NOT NULL,
            context TEXT NOT NULL CHECK (json_valid(context))
        ) STRICT
    """)
    db.execute("""
        CREATE TABLE kept_frames (
            rank INTEGER PRIMARY KEY,
            note INTEGER NOT NULL,
            context TEXT NOT NULL CHECK (json_valid(context)),
            before TEXT NOT NULL CHECK (json_valid(before))
        ) STRICT
    """)
    db.execute("""
        CREATE TABLE kept_entries (
            entry TEXT PRIMARY KEY REFERENCES entries (id),
            as_read TEXT CHECK (as_read IS NULL OR json_valid(as_read))
        ) STRICT, WITHOUT ROWID
    """)


def _keep_facets(db: Database) -> None:
    """What a work list is narrowed by: doubts, cautions, what to look at first, handlers, days.

    Void entries are left out of all of it.
    """
    db.execute("""
        CREATE TABLE facets (
            facet TEXT NOT NULL CHECK (facet IN ('doubt', 'caution', 'first')),
            value TEXT NOT NULL,
            rank INTEGER NOT NULL,
            entry TEXT NOT NULL REFERENCES entries (id),
            PRIMARY KEY (facet, value, rank, entry)
        ) STRICT, WITHOUT ROWID
    """)
    db.execute("CREATE INDEX facets_by_entry ON facets (entry)")
    _index_facets(db)
    db.execute("CREATE INDEX entries_by_handler ON entries (handler, rank) WHERE status <> 'void'")
    db.execute(
        "CREATE INDEX entries_by_day ON entries (substr(recorded_at, 1, 10), rank) "
        "WHERE status <> 'void'"
    )
    db.execute("""
        CREATE TABLE value_counts (
            what TEXT NOT NULL CHECK (what IN ('handler', 'day')),
            value TEXT NOT NULL,
            entries INTEGER NOT NULL,
            PRIMARY KEY (what, value)
        ) STRICT, WITHOUT ROWID
    """)
    _count_values(db)


def _index_facets(db: Database) -> None:
    _fill_facets(db)
    put_in = f"""
        INSERT INTO facets SELECT facet, value, NEW.rank, NEW.id FROM (
            SELECT 'doubt' AS facet, json_extract(value, '$.field') AS value
                FROM json_each(NEW.doubts)
            UNION SELECT 'caution', value FROM json_each(NEW.cautions)
            UNION SELECT 'first', '' WHERE {_IS_FIRST.format("NEW")}
        ) WHERE value IS NOT NULL AND NEW.status <> 'void'
    """
    db.execute(f"CREATE TRIGGER entries_facets_new AFTER INSERT ON entries BEGIN {put_in}; END")
    db.execute(f"""
        CREATE TRIGGER entries_facets_change
        AFTER UPDATE OF rank, status, doubts, cautions ON entries
        WHEN (OLD.rank, OLD.status, OLD.doubts, OLD.cautions)
            IS NOT (NEW.rank, NEW.status, NEW.doubts, NEW.cautions)
        BEGIN
            DELETE FROM facets WHERE entry = NEW.id;
            {put_in};
        END
    """)
    for name, when in (("new", "INSERT"), ("change", "UPDATE OF verdict")):
        db.execute(f"""
            CREATE TRIGGER sampled_facets_{name} AFTER {when} ON sampled_entries BEGIN
                DELETE FROM facets WHERE entry = NEW.entry AND facet = 'first';
                INSERT INTO facets SELECT 'first', '', rank, id FROM entries
                WHERE id = NEW.entry AND {_IS_FIRST.format("entries")};
            END
        """)


def _count_values(db: Database) -> None:
    values = """
        SELECT 'handler' AS what, {0}.handler AS value
        UNION ALL SELECT 'day', substr({0}.recorded_at, 1, 10)
    """
    _fill_value_counts(db)
    count_in = f"""
        INSERT INTO value_counts SELECT what, value, 1 FROM ({values.format("NEW")})
        WHERE value IS NOT NULL AND NEW.status <> 'void'
        ON CONFLICT (what, value) DO UPDATE SET entries = entries + 1
    """
    db.execute(f"CREATE TRIGGER entries_values_new AFTER INSERT ON entries BEGIN {count_in}; END")
    db.execute(f"""
        CREATE TRIGGER entries_values_change
        AFTER UPDATE OF status, handler, recorded_at ON entries
        WHEN (OLD.status = 'void', OLD.handler, OLD.recorded_at)
            IS NOT (NEW.status = 'void', NEW.handler, NEW.recorded_at)
        BEGIN
            UPDATE value_counts SET entries = entries - 1 WHERE OLD.status <> 'void'
                AND (what, value) IN ({values.format("OLD")});
            DELETE FROM value_counts WHERE entries = 0
                AND (what, value) IN ({values.format("OLD")});
            {count_in};
        END
    """)


def _fill_volume_counts(db: Database) -> None:
    db.execute("DELETE FROM volume_counts")
    db.execute("""
        INSERT INTO volume_counts
        SELECT json_array(accession, volume), accession, volume, min(birth),
            sum(status = 'heard'), sum(status = 'queried'), sum(status = 'confirmed'),
            sum(status = 'void')
        FROM entries GROUP BY accession, volume
    """)


def _fill_facets(db: Database) -> None:
    db.execute("DELETE FROM facets")
    shown = "rank, entries.id FROM entries, json_each(entries.{}) AS one WHERE status <> 'void'"
    db.execute(
        "INSERT OR IGNORE INTO facets SELECT 'doubt', json_extract(one.value, '$.field'), "
        f"{shown.format('doubts')} AND json_extract(one.value, '$.field') IS NOT NULL"
    )
    db.execute(
        f"INSERT OR IGNORE INTO facets SELECT 'caution', one.value, {shown.format('cautions')}"
    )
    db.execute(
        "INSERT INTO facets SELECT 'first', '', rank, id FROM entries "
        f"WHERE {_IS_FIRST.format('entries')}"
    )


def _fill_facet_counts(db: Database) -> None:
    db.execute("DELETE FROM facet_counts")
    db.execute(
        "INSERT INTO facet_counts SELECT facet, value, count(*) FROM facets GROUP BY facet, value"
    )


def _fill_value_counts(db: Database) -> None:
    db.execute("DELETE FROM value_counts")
    db.execute("""
        INSERT INTO value_counts
        SELECT 'handler', handler, count(*) FROM entries
        WHERE status <> 'void' AND handler IS NOT NULL GROUP BY handler
        UNION ALL
        SELECT 'day', substr(recorded_at, 1, 10), count(*) FROM entries
        WHERE status <> 'void' AND recorded_at IS NOT NULL GROUP BY 2
    """)
