from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from tests.session.live.sound_server import SoundServer
from voicelog.session.live.microphone import list_inputs


@pytest.fixture(scope="session")
def _running_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SoundServer]:
    missing = SoundServer.missing()
    if missing:
        message = f"no sound server here: {', '.join(missing)} not installed"
        if os.environ.get("CI") == "true":
            pytest.fail(f"{message}; .ci/run installs it")
        pytest.skip(message)
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
    list_inputs(refresh=True)
    yield _running_server
    _running_server.stop()
    _running_server.start()
