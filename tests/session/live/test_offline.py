"""Nothing leaves the machine: a whole day's work where there is no way out."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from tests.recognition.recordings import write_recording
from tests.session.live.bench import DEMO, ROOT, SILENCE
from tests.session.live.conftest import do_without
from tests.session.live.sound_server import SoundServer
from voicelog.recognition.segments import iter_segments
from voicelog.store.log import Log
from voicelog.store.sessions import Way

_WITHOUT_NETWORK = ("unshare", "--net", "--map-root-user")


def test_a_whole_day_without_a_network(sound_server: SoundServer, tmp_path: Path) -> None:
    """Real microphone, real recogniser, real files, in a network namespace of its own.

    No interface but a loopback that is down; every command does its work all the same,
    and none of them so much as asks for an address.
    """
    del sound_server
    if shutil.which("unshare") is None:
        do_without("no unshare (util-linux) here")
    if subprocess.call((*_WITHOUT_NETWORK, "true"), stderr=subprocess.DEVNULL):
        pytest.skip("the kernel of this machine gives nobody a network namespace")
    sounds = [segment.samples for segment in islice(iter_segments(DEMO), 3)]
    recording = tmp_path / "said.wav"
    write_recording(recording, np.concatenate([part for one in sounds for part in (one, SILENCE)]))
    done = subprocess.run(
        (
            *_WITHOUT_NETWORK,
            *(sys.executable, "-m", "tests.session.live.offline_day", tmp_path, recording),
        ),
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
        timeout=900,
    )
    assert done.returncode == 0, done.stderr
    facts = json.loads((tmp_path / "facts.json").read_text(encoding="utf-8"))
    assert facts["interfaces"] == ["lo"]
    assert facts["reaching_out"] == "ENETUNREACH"
    assert facts["asked"] == []
    assert set(facts["statuses"].values()) == {0}, done.stderr
    with Log.open(tmp_path / "log") as log:
        ways = [session.way for session in log.iter_sessions()]
        heard = {note.engine for note in log.iter_notes()}
        assert log.count_notes() >= 7
    assert ways == [Way.LIVE, Way.RECORDING]
    assert heard >= {"typed", "both"}
    assert (tmp_path / "rows.csv").stat().st_size > 0
