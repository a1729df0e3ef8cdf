"""Triggers with which the log's file itself refuses what must never be done to it."""

from __future__ import annotations

from sqlite_utils import Database


def forbid(db: Database, table: str, change: str, why: str) -> None:
    """Have the file refuse UPDATE or DELETE on a table, with the reason."""
    db.execute(f"""
        CREATE TRIGGER {table}_refuse_{change.lower()} BEFORE {change} ON {table}
        BEGIN SELECT RAISE(ABORT, '{why}'); END
    """)
