"""voicelog transcribe: recordings of spoken notes into a log."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import click

from voicelog.cli.bulk_words import (
    describe_order,
    describe_outcome,
    describe_stop,
    describe_tally,
    describe_unfinished,
)
from voicelog.cli.options import json_option, log_option, spoken_options
from voicelog.cli.stopping import stopping
from voicelog.cli.taking import Reporter, bench_for, print_rows, reporting
from voicelog.errors import UsageError
from voicelog.recognition.plan import Plan
from voicelog.session.bulk.alone import hear_alone
from voicelog.session.bulk.backlog import Named, find_unfinished, take_in
from voicelog.session.bulk.cluster import hired_cluster
from voicelog.session.bulk.crew import Crew, hired_processes
from voicelog.session.bulk.order import order_recordings
from voicelog.session.bulk.outcome import BulkWatcher, Fate, RecordingOutcome, Tally
from voicelog.session.bulk.together import HearingTogether
from voicelog.settings import Settings, read_settings
from voicelog.wiring.bench import Bench
from voicelog.wiring.bulk import (
    choose_jobs,
    make_provenance,
    make_tasks,
    plan_hearing_elsewhere,
    share_threads,
)
from voicelog.wiring.hearing import make_hearing, plan_recogniser, tell_missing_ear


@click.command()
@click.argument("recordings", metavar="[AUDIO...]", nargs=-1, type=click.Path(path_type=Path))
@log_option
@json_option
@spoken_options
@click.option(
    "--jobs",
    type=click.IntRange(min=1),
    metavar="N",
    default=None,
    help="How many recordings are heard at once; else as many as this machine has room for.",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    default=None,
    help="Have them heard by the workers of a dask cluster: tcp://HOST:8786.",
)
def transcribe(
    recordings: tuple[Path, ...],
    folder: Path,
    *,
    given: Mapping[str, Any],
    as_json: bool,
    jobs: int | None,
    cluster: str | None,
) -> int:
    """Take recordings of spoken notes into a log.

    WAV, FLAC, MP3, M4A, Opus and others. Each recording is copied into the log before it
    is heard. They are heard several at a time, and read in the order in which they were made.
    After an interruption the same command goes on where it stopped, as does one that names no
    recording; a recording that the log holds already is passed over.
    """
    if jobs is not None and cluster is not None:
        raise UsageError("A cluster has as many workers as it has: leave out --jobs or --cluster.")
    settings = read_settings(overrides=given)
    with (
        reporting() as reporter,
        stopping(reporter.say) as should_stop,
        bench_for(folder, settings, reporter) as bench,
    ):
        for sentence in tell_missing_ear(settings):
            reporter.say(sentence)
        work = _Work(bench, settings, reporter, should_stop)
        tally = work.do(recordings, jobs=jobs, cluster=cluster)
        if tally.is_stopped:
            reporter.say(describe_stop(tally, folder, notes=reporter.notes))
            raise click.Abort
        print_rows(bench.log, settings, reporter, as_json=as_json)
    return 0 if work.all_usable else 1


class _Work:
    """Recordings on their way into a log; says what becomes of each.

    Attributes:
        all_usable: whether every recording so far could be used.
    """

    def __init__(
        self,
        bench: Bench,
        settings: Settings,
        reporter: Reporter,
        should_stop: Callable[[], bool],
    ) -> None:
        self.all_usable = True
        self._bench = bench
        self._settings = settings
        self._reporter = reporter
        self._should_stop = should_stop
        self._watcher = BulkWatcher(
            settled=self._settle,
            taken=reporter.took,
            damaged=reporter.say,
            reached=reporter.reached,
        )

    def do(self, sources: tuple[Path, ...], *, jobs: int | None, cluster: str | None) -> Tally:
        """Take recordings in, hear them, and have their notes read.

        Args:
            sources: the recordings; with none, what earlier runs left unfinished.
            jobs: how many are heard at once on this machine; None for what suits it.
            cluster: where the scheduler of a cluster is, or None.
        """
        if cluster is not None:
            # Asked first: what can't be heard there need not be copied here.
            self._reporter.begin("Asking the cluster")
            plan = plan_hearing_elsewhere(self._settings, self._bench.vocabulary)
            with hired_cluster(cluster, plan) as crew:
                return self._hear_together(self._take_in(sources), plan, crew)
        waiting = self._take_in(sources)
        settings, vocabulary = self._settings, self._bench.vocabulary
        most = jobs or choose_jobs(waiting, plan_recogniser(settings, vocabulary))
        jobs = min(len(waiting), most)
        if jobs <= 1:
            return self._hear_alone(waiting)
        plan = plan_recogniser(share_threads(settings, jobs), vocabulary)
        with hired_processes(jobs) as processes:
            return self._hear_together(waiting, plan, processes)

    def _take_in(self, sources: tuple[Path, ...]) -> tuple[Named, ...]:
        log = self._bench.log
        if sources:
            self._reporter.begin("Copying the recordings")
            provenance = make_provenance(self._settings)
            taken = take_in(
                sources, log, provenance, watcher=self._watcher, should_stop=self._should_stop
            )
        elif not (taken := find_unfinished(log)):
            raise UsageError(
                "Name the recordings to take in; the log has none that an earlier run left "
                "unfinished."
            )
        left = {one.recording.file for one in find_unfinished(log)}
        if others := len(left - {one.recording.file for one in taken}):
            self._reporter.say(describe_unfinished(others, log.folder))
        order = order_recordings(taken)
        if sentence := describe_order(order):
            self._reporter.say(sentence)
        return order.recordings

    def _hear_together(self, waiting: tuple[Named, ...], plan: Plan, crew: Crew) -> Tally:
        bench = self._bench
        make_task = make_tasks(plan, self._settings, bench.log.audio_folder, crew)
        self._reporter.begin(f"Hearing {len(waiting)} recordings")
        tally = HearingTogether(
            bench.scribe, crew, make_task, watcher=self._watcher, should_stop=self._should_stop
        ).run(waiting)
        if tally.heard:
            self._reporter.say(describe_tally(tally, by=crew.name, jobs=crew.size))
        return tally

    def _hear_alone(self, waiting: tuple[Named, ...]) -> Tally:
        if not waiting:
            return Tally(is_stopped=self._should_stop())
        self._reporter.begin("Loading the recogniser")
        hearing = make_hearing(self._settings, self._bench.vocabulary)
        self._reporter.begin(waiting[0].name if len(waiting) == 1 else "Hearing")
        tally = hear_alone(
            waiting,
            self._bench.scribe,
            hearing,
            watcher=self._watcher,
            should_stop=self._should_stop,
        )
        if tally.heard > 1:
            self._reporter.say(describe_tally(tally, by="1 process", jobs=1))
        return tally

    def _settle(self, outcome: RecordingOutcome) -> None:
        self._reporter.say(describe_outcome(outcome))
        if outcome.fate in (Fate.UNUSABLE, Fate.SET_ASIDE):
            self.all_usable = False
