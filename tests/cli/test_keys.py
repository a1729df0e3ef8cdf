"""Keys and pedals: what a terminal sends is what a setting names."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
import time
from pathlib import Path

import pytest

from voicelog.cli.keys import _SEQUENCES, name_keys
from voicelog.errors import SettingsError
from voicelog.settings import NAMED_KEYS, read_settings

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("sent", "keys"),
    [
        # xterm control sequences, Edward Moy et al., "PC-Style Function Keys".
        (b"\x1b[A\x1bOB", ["up", "down"]),
        (b"\x1b[5~\x1b[6~", ["page up", "page down"]),
        (b"\x1bOP\x1b[15~\x1b[24~", ["f1", "f5", "f12"]),
        (b"\x1b[H\x1b[4~", ["home", "end"]),
        (b" \r\t\x7f", ["space", "enter", "tab", "backspace"]),
        (b"cps", ["c", "p", "s"]),
        ("é.".encode(), ["é", "."]),
        (b"\x1b[1;5A", []),
        (b"\x1b", []),
        (b"\xff", ["\ufffd"]),
        (b"\x00\x01", []),
    ],
)
def test_what_a_terminal_sends_is_named(sent: bytes, keys: list[str]) -> None:
    """Unknown sequences are passed over whole, never taken apart into letters."""
    assert list(name_keys(sent)) == keys


def test_every_key_that_a_setting_may_name_can_be_sent() -> None:
    """A name that no terminal ever sends would be a pedal that does nothing."""
    assert set(_SEQUENCES.values()) == set(NAMED_KEYS)


def test_a_key_that_does_not_exist_is_refused() -> None:
    """With the names that there are."""
    with pytest.raises(SettingsError, match="'pedal' is not a key; write one character, or"):
        read_settings(environment={"VOICELOG_KEY_CHECK": "pedal"})
    assert read_settings(environment={"VOICELOG_KEY_CHECK": "page down"}).key_check == "page down"
    assert read_settings(environment={"VOICELOG_KEY_PAUSE": ""}).key_pause == ""


def test_a_real_terminal_is_read_and_left_as_it_was() -> None:
    """Through a pseudo-terminal: keys come at once, and afterwards lines are lines again."""
    program = (
        "import sys, termios, time\n"
        "from voicelog.cli.keys import watching_keys\n"
        "before = termios.tcgetattr(0)\n"
        "names = []\n"
        "with watching_keys(names.append):\n"
        "    print('ready', flush=True)\n"
        "    give_up_at = time.monotonic() + 60\n"
        "    while len(names) < 2 and time.monotonic() < give_up_at:\n"
        "        time.sleep(0.01)\n"
        "print(names, flush=True)\n"
        "print('same', termios.tcgetattr(0) == before, flush=True)\n"
    )
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-c", program],
        stdin=theirs,
        stdout=subprocess.PIPE,
        cwd=ROOT,
        text=True,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        os.write(ours, b"p")
        time.sleep(0.3)
        os.write(ours, b"\x1b[6~")
        rest = process.stdout.read()
    os.close(ours)
    os.close(theirs)
    assert rest == "['p', 'page down']\nsame True\n"
