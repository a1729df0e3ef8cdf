"""voicelog review, as far as it can be seen in a terminal."""

from __future__ import annotations

import http.client
from pathlib import Path

from tests.cli.conftest import Voicelog
from tests.review.pages.command import Command


def test_serves_until_it_is_interrupted(filled_log: Path) -> None:
    """It prints the address, lets one browser in, and ends with 0 on Ctrl-C."""
    with Command(filled_log) as command:
        host, _, path = command.address.removeprefix("http://").partition("/")
        assert host.startswith("127.0.0.1:")
        connection = http.client.HTTPConnection(host, timeout=60)
        for wanted in (303, 403):
            connection.request("GET", f"/{path}")
            answer = connection.getresponse()
            answer.read()
            assert answer.status == wanted
        connection.close()
        assert command.interrupt() == 0


def test_says_that_there_is_no_log(voicelog: Voicelog, tmp_path: Path) -> None:
    result = voicelog("review", "--log", tmp_path / "nothing", "--no-browser")
    assert result.status == 2
    assert "is not there; name a log" in result.err


def test_says_that_a_port_is_out_of_range(voicelog: Voicelog, filled_log: Path) -> None:
    result = voicelog("review", "--log", filled_log, "--port", "99999")
    assert result.status == 2
    assert "99999" in result.err
