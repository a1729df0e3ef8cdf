"""Make a log with the code of every version of the tables that there ever was.

    python -m tests.store.earlier.make_logs

For each version the last commit that had it is checked out into a passing folder and begins a
log (``begin_log.py``). What is kept is the log as SQL, and beside it the entry records that the
version itself gave. They are made once, when a version is succeeded, and never changed.
"""

from __future__ import annotations

import gzip
import io
import os
import sqlite3
import subprocess
import sys
import tarfile
import tempfile
from contextlib import closing
from pathlib import Path

from sqlite_utils import Database

from voicelog.store.word_index import drop_word_index

HERE = Path(__file__).parent
ROOT = HERE.parents[2]
APPLICATION_ID = 0x766C6F67

VERSIONS = (
    ("05-notes-and-entries", "749ac31"),
    ("07-exports", "1861aaa"),
    ("08-acts", "bf72463"),
    ("09-sessions", "0a68829"),
    ("10-acceptances", "a24d000"),
    ("11-questions", "ccd42a5"),
    ("13-signatures-and-samples", "1345337"),
    ("14-lessons", "9d2fe06"),
    ("15-redactions", "8d6cf27"),
    ("16-brought", "edf93ab"),
    ("17-redacted-acceptances", "d901ed1"),
    ("18-entry-stamps", "d835f08"),
    ("19-large-logs", "d9799ce"),
    ("20-heard-ahead", "a381ba9"),
)
"""How many steps a version had, what was new in it, and the last commit that had it."""


def make(name: str, commit: str) -> None:
    """Make the log of one version and keep it."""
    with tempfile.TemporaryDirectory() as place:
        old = Path(place) / "old"
        archive = subprocess.run(
            ("git", "-C", ROOT, "archive", commit, "voicelog", "models"),
            check=True,
            capture_output=True,
        )
        with tarfile.open(fileobj=io.BytesIO(archive.stdout)) as files:
            files.extractall(old, filter="data")
        log = Path(place) / "log"
        settings = Path(place) / "settings"
        surroundings = {**os.environ, "PYTHONPATH": str(old), "XDG_CONFIG_HOME": str(settings)}
        command = (sys.executable, HERE / "begin_log.py", log)
        subprocess.run(command, check=True, cwd=place, env=surroundings, stderr=subprocess.DEVNULL)
        records = subprocess.run(
            (sys.executable, "-m", "voicelog", "show", "--all", "--json", "--log", log),
            check=True,
            capture_output=True,
            cwd=place,
            env=surroundings,
        )
        with closing(sqlite3.connect(log / "log.sqlite")) as database:
            # SQL can't tell what an index of words holds; it is made anew where it is missing.
            drop_word_index(Database(database))
            lines = "\n".join(database.iterdump())
    dump = f"PRAGMA application_id = {APPLICATION_ID};\n{lines}\n"
    (HERE / f"{name}.sql.gz").write_bytes(gzip.compress(dump.encode(), mtime=0))
    (HERE / f"{name}.jsonl").write_bytes(records.stdout)


def main() -> None:
    for name, commit in VERSIONS:
        make(name, commit)


if __name__ == "__main__":
    main()
