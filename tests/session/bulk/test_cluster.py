"""A real cluster of worker processes: the rows of one machine, also when a worker is killed."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import distributed
import pytest

from tests.session.bulk.clips import cut_clips, read_rows
from voicelog.cli import run
from voicelog.errors import ClusterError, ModelDiffers
from voicelog.session.bulk import cluster as cluster_module
from voicelog.session.bulk.cluster import hired_cluster
from voicelog.settings import read_settings
from voicelog.store.log import Log
from voicelog.vocabulary import load_vocabulary
from voicelog.wiring.bulk import plan_hearing_elsewhere


@pytest.fixture(scope="module")
def workers() -> Iterator[Any]:
    """Two worker processes with a thread each, on this machine."""
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0"
    ) as cluster:
        yield cluster


@pytest.fixture(scope="module")
def clips(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return cut_clips(tmp_path_factory.mktemp("clips"), count=5)


def transcribe(*arguments: object) -> int:
    with pytest.MonkeyPatch.context() as surroundings:
        # As on a worker: sums must be made in the same order.
        surroundings.setenv("VOICELOG_THREADS", "1")
        return run(["transcribe", *map(str, arguments), "--engine", "whisper", "--json"])


@pytest.fixture(scope="module")
def expected(clips: list[Path], tmp_path_factory: pytest.TempPathFactory) -> list[Any]:
    log = tmp_path_factory.mktemp("alone") / "log"
    assert transcribe(*clips, "--log", log, "--jobs", 1) == 0
    return read_rows(log)


def test_a_cluster_gives_the_rows_of_one_machine(
    workers: Any,
    clips: list[Path],
    expected: list[Any],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Every worker finds the same model by its checksum."""
    log = tmp_path / "log"
    assert transcribe(*clips, "--log", log, "--cluster", workers.scheduler_address) == 0
    assert read_rows(log) == expected
    assert " by 2 workers: real-time factor " in capsys.readouterr().err


def test_a_worker_killed_in_mid_run_costs_no_entry_and_gives_none_twice(
    workers: Any, clips: list[Path], expected: list[Any], tmp_path: Path
) -> None:
    """Its work goes to another worker."""
    log = tmp_path / "log"
    with distributed.Client(workers.scheduler_address, set_as_default=False) as client:
        victim = next(iter(client.run(os.getpid).values()))
    killed = threading.Event()

    def kill_when_it_works() -> None:
        while not killed.wait(0.05):
            if (log / "audio" / clips[-1].name).exists():
                os.kill(victim, signal.SIGKILL)
                killed.set()

    killer = threading.Thread(target=kill_when_it_works)
    killer.start()
    try:
        assert transcribe(*clips, "--log", log, "--cluster", workers.scheduler_address) == 0
    finally:
        was_killed = killed.is_set()
        killed.set()
        killer.join()
    assert was_killed
    assert read_rows(log) == expected
    with Log.open(log) as read:
        assert list(read.iter_heard_ahead()) == []


def test_another_model_on_a_worker_is_one_sentence(workers: Any) -> None:
    """Told by the checksum over all its files, before anything is copied or heard."""
    plan = plan_hearing_elsewhere(read_settings(overrides={"engine": "vosk"}), load_vocabulary())
    other = replace(plan, fingerprint="0" * 64)
    with (
        pytest.raises(ModelDiffers, match=r"has another model .* checksum 000000000000 of vosk"),
        hired_cluster(workers.scheduler_address, other),
    ):
        pass
    older = replace(plan, versions=(("voicelog", "0.0.1"),))
    with (
        pytest.raises(ModelDiffers, match=r"this machine 0\.0\.1; install the same version"),
        hired_cluster(workers.scheduler_address, older),
    ):
        pass


def test_a_cluster_that_is_not_there_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing was copied; a worker-less scheduler and a mixed request are told as well."""
    monkeypatch.setattr(cluster_module, "_CONNECT_S", 1)
    log = tmp_path / "log"
    for address in ("tcp://127.0.0.1:9", "no address at all"):
        assert transcribe(tmp_path / "a.wav", "--log", log, "--cluster", address) == 1
        assert f"No cluster answers at {address}" in capsys.readouterr().err
    assert transcribe(tmp_path / "a.wav", "--log", log, "--cluster", "tcp://x:1", "--jobs", 2) == 2
    assert list((log / "audio").iterdir()) == []
    plan = plan_hearing_elsewhere(read_settings(overrides={"engine": "vosk"}), load_vocabulary())
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=":0") as empty,
        pytest.raises(ClusterError, match="has no workers; start one on each machine"),
        hired_cluster(empty.scheduler_address, plan),
    ):
        pass
