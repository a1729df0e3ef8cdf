"""A whole day's work in one process, which is told of every way out that anybody tries.

Run by a test in a network namespace without an interface. Listens to a real microphone,
takes in a recording, parses, shows, exports; prints what each command's exit status was and
which addresses were asked for, as JSON.
"""

from __future__ import annotations

import errno
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

from tests.session.live.sound_server import SINK
from voicelog.cli import run
from voicelog.errors import VoicelogError
from voicelog.store.log import Log

_NOTES_WANTED = 2
_LONGEST_WAIT_S = 600.0
# Never assigned to anybody: RFC 5737, section 3 (TEST-NET-1).
_NOBODY = ("192.0.2.1", 9)
_WAYS_OUT = ("socket.connect", "socket.getaddrinfo", "socket.sendto", "socket.gethostbyname")


def find_interfaces() -> list[str]:
    """Return the network interfaces of this process, the loopback included."""
    lines = Path("/proc/net/dev").read_text(encoding="ascii").splitlines()[2:]
    return [line.split(":")[0].strip() for line in lines]


def reach_nobody() -> str:
    """Return how an attempt to send something out fails; "" if it doesn't."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.sendto(b"", _NOBODY)
        except OSError as failure:
            return errno.errorcode[failure.errno or 0]
    return ""


def speak_then_stop(folder: Path, recording: Path) -> None:
    """Speak into the microphone once it is listened to, and end the session after that."""
    give_up_at = time.monotonic() + _LONGEST_WAIT_S
    while not list((folder / "audio").glob("*.wav")) and time.monotonic() < give_up_at:
        time.sleep(0.1)
    with subprocess.Popen(("paplay", f"--device={SINK}", recording)) as playing:
        while time.monotonic() < give_up_at and count_notes(folder) < _NOTES_WANTED:
            time.sleep(0.2)
        playing.kill()
    os.kill(os.getpid(), signal.SIGINT)


def count_notes(folder: Path) -> int:
    try:
        with Log.open(folder) as log:
            return log.count_notes()
    except VoicelogError:
        return 0


def main(place: Path, recording: Path) -> None:
    facts = {"interfaces": find_interfaces(), "reaching_out": reach_nobody()}
    asked: list[str] = []

    def notice(event: str, arguments: tuple[object, ...]) -> None:
        if event in _WAYS_OUT:
            way = arguments[0]
            if not (isinstance(way, socket.socket) and way.family == socket.AF_UNIX):
                asked.append(f"{event} {arguments[1:]}")

    sys.addaudithook(notice)
    folder, typed, out = place / "log", place / "notes.txt", place / "rows.csv"
    typed.write_text("accession 2031-007\nleaf two, a ticket\n", encoding="utf-8")
    threading.Thread(target=speak_then_stop, args=(folder, recording), daemon=True).start()
    at = ("--log", str(folder))
    statuses = {
        "listen": run(["listen", *at, "--told", "yes", "--recorded", "Ida Fenn"]),
        "parse": run(["parse", str(typed), *at]),
        "transcribe": run(["transcribe", str(recording), *at]),
        "show": run(["show", *at]),
        "notes": run(["notes", *at]),
        "sessions": run(["sessions", *at]),
        "export": run(["export", "csv", *at, "--out", str(out), "--include-unconfirmed"]),
        "audio prune": run(["audio", "prune", "--dry-run", *at]),
    }
    (place / "facts.json").write_text(
        json.dumps({**facts, "asked": asked, "statuses": statuses}), encoding="utf-8"
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
