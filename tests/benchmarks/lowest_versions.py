"""Install the lowest version of everything that pyproject.toml allows, and work with it.

    python -m tests.benchmarks.lowest_versions

A fresh environment gets voicelog with each direct dependency at its lower bound; then typed
notes are read, checked, exported and backed up there. It takes some minutes and the network.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
NOTES = "accession 2031-007\nvolume one, the green book\nleaf two, a postcard, photo corners\n"
FORMATS = ("csv", "xlsx", "jsonl", "ead3", "marcxml", "mods", "iiif")


def list_lowest() -> list[str]:
    """Return each direct dependency at the lowest version that is allowed."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lowest = []
    for wanted in project["dependencies"]:
        name, bound = re.fullmatch(r"([\w.-]+)[>=]=([\w.]+).*", wanted).groups()  # type: ignore[union-attr]
        lowest.append(f"{name}=={bound}")
    return lowest


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        subprocess.run((sys.executable, "-m", "venv", place / "venv"), check=True)
        pip = (place / "venv" / "bin" / "python", "-m", "pip", "install", "--quiet")
        pinned = place / "lowest.txt"
        pinned.write_text("\n".join(list_lowest()) + "\n")
        subprocess.run((*pip, "-c", pinned, ROOT), check=True)
        notes = place / "notes.txt"
        notes.write_text(NOTES)
        log, voicelog = place / "log", place / "venv" / "bin" / "voicelog"
        commands: list[tuple[object, ...]] = [("parse", notes, "--log", log)]
        for kind in FORMATS:
            out = place / f"out.{kind}"
            commands.append(("export", kind, "--include-unconfirmed", "--log", log, "--out", out))
        commands.append(("report", "--log", log, "--out", place / "report.pdf"))
        commands.append(("house", "--log", log, "--guide", place / "guides"))
        commands.append(("backup", "--log", log, "--out", place / "copy"))
        commands.append(("doctor", "--log", place / "copy"))
        for command in commands:
            done = subprocess.run(
                (voicelog, *map(str, command)), capture_output=True, text=True, check=False
            )
            print(f"{done.returncode}  voicelog {command[0]} {command[1]}")
            if done.returncode:
                print(done.stdout, done.stderr, sep="\n")
    print(f"{len(list_lowest())} direct dependencies at their lowest versions")


if __name__ == "__main__":
    main()
