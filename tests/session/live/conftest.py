from __future__ import annotations

import os
from collections.abc import Iterator
from typing import NoReturn

import pytest

from tests.session.live.sound_server import SoundServer
from voicelog.errors import MicrophoneMissing
from voicelog.session.live.microphone import find_input, list_inputs


def do_without(message: str) -> NoReturn:
    """Skip a test that needs real sound; where all checks are run it must not be skipped."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"{message}; .ci/run installs it")
    pytest.skip(message)


@pytest.fixture(scope="session")
def _running_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SoundServer]:
    missing = SoundServer.missing()
    if missing:
        do_without(f"no sound server here: {', '.join(missing)} not installed")
    server = SoundServer(tmp_path_factory.mktemp("sound"))
    before = {name: os.environ.get(name) for name in server.surroundings}
    # The process's own surroundings, because ALSA reads them inside it.
    os.environ.update(server.surroundings)
    try:
        server.start()
        yield server
    finally:
        server.stop()
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@pytest.fixture
def sound_server(_running_server: SoundServer) -> Iterator[SoundServer]:
    """A real sound server with a microphone plugged in; the next test gets it so again."""
    try:
        find_input(list_inputs(refresh=True))
    except MicrophoneMissing as failure:
        do_without(f"no way to the sound server here (libportaudio2, ALSA plugins?): {failure}")
    yield _running_server
    _running_server.stop()
    _running_server.start()
