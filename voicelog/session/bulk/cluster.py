"""Who hears many recordings: the workers of a dask cluster, here or on other machines."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from voicelog.errors import ClusterError, ModelDiffers
from voicelog.recognition.plan import Plan
from voicelog.session.bulk.task import HeardRecording, HearingTask, hear

if TYPE_CHECKING:
    from distributed import Client

_CONNECT_S = 20
# A recording may travel with its task; the library would warn of each large one.
_LARGEST_TASK = "16 GiB"


class ClusterCrew:
    """The workers that a scheduler knows."""

    is_elsewhere = True

    def __init__(self, client: Client) -> None:
        self._client = client
        self._executor = client.get_executor(pure=False)
        threads = client.nthreads()
        self.size = sum(threads.values())
        self.name = "1 worker" if len(threads) == 1 else f"{len(threads)} workers"

    def submit(self, task: HearingTask) -> Future[HeardRecording]:
        """Have a recording heard by a worker that is free; again, should the worker die."""
        future: Future[HeardRecording] = self._executor.submit(hear, task)
        return future

    def is_deadly(self, failure: BaseException) -> bool:
        """Whether several workers died, one after the other, over this recording."""
        from distributed import KilledWorker  # noqa: PLC0415 - there is a client of it

        return isinstance(failure, KilledWorker)

    def recover(self) -> None:
        """Do nothing: the scheduler gives the work of a worker that died to another."""

    def stop(self) -> None:
        """Call back what the workers have not finished."""
        self._executor.shutdown(wait=False)


@contextmanager
def hired_cluster(address: str, plan: Plan) -> Iterator[ClusterCrew]:
    """Give the workers of a cluster once all of them were found to hear what we would hear.

    Args:
        address: where the scheduler listens: "tcp://bench-3:8786".
        plan: the recogniser that they will use.

    Raises:
        ClusterError: there is no cluster at this address, or it has no workers, or they don't
            have voicelog.
        ModelDiffers: a worker has another model, or other versions.
    """
    client = _connect(address)
    try:
        _check_workers(client, address, plan)
        crew = ClusterCrew(client)
        try:
            yield crew
        finally:
            crew.stop()
    finally:
        client.close()


def find_suitable(plan: Plan) -> None:
    """Make sure, on a worker, that it can hear as the plan says.

    Raises:
        RecogniserError: it can't.
    """
    plan.check()


def _connect(address: str) -> Client:
    try:
        import dask  # noqa: PLC0415 - only a run on a cluster needs it
        from distributed import Client  # noqa: PLC0415
    except ModuleNotFoundError as failure:
        raise ClusterError(
            "To use a cluster, install dask.distributed: pip install 'voicelog[cluster]'."
        ) from failure
    dask.config.set({"distributed.admin.large-graph-warning-threshold": _LARGEST_TASK})
    try:
        return Client(address, timeout=_CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as failure:
        raise ClusterError(
            f"No cluster answers at {address}; start its scheduler ('dask scheduler'), or "
            "correct the address, for instance tcp://192.0.2.7:8786."
        ) from failure


def _check_workers(client: Client, address: str, plan: Plan) -> None:
    if not client.nthreads():
        raise ClusterError(
            f"The cluster at {address} has no workers; start one on each machine "
            f"('dask worker {address} --nthreads 1 --nworkers -1')."
        )
    answers: dict[str, Any] = client.run(find_suitable, plan, on_error="return")
    for worker, answer in answers.items():
        if isinstance(answer, ModelDiffers):
            raise answer
        if isinstance(answer, BaseException):
            raise ClusterError(
                f"The worker {worker} can't hear ({answer}); install voicelog there as it is "
                "here, or stop that worker, then run the same command again."
            ) from answer
