"""How many recordings are heard at once: by how many processes, or on which cluster."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from voicelog.recognition.plan import Plan
from voicelog.session.bulk.backlog import Named
from voicelog.session.bulk.crew import Crew
from voicelog.session.bulk.room import (
    count_cores,
    count_jobs,
    count_worthwhile,
    free_memory_bytes,
)
from voicelog.session.bulk.task import HearingTask
from voicelog.session.bulk.together import MakeTask
from voicelog.session.keeping import Provenance
from voicelog.settings import Settings
from voicelog.store.recording import Recording
from voicelog.vocabulary import Vocabulary
from voicelog.wiring.hearing import (
    make_segment_options,
    make_speakers,
    plan_recogniser,
)


def make_provenance(settings: Settings) -> Provenance:
    """Return what the house knows of a recording, by the settings."""
    return Provenance(handler=settings.handler or None, speakers=make_speakers(settings))


def choose_jobs(recordings: Sequence[Named], plan: Plan) -> int:
    """Return how many recordings are best heard at once on this machine.

    No more than there are cores and memory for, and no more than are worth starting.
    """
    room = count_jobs(
        cores=count_cores(),
        free_bytes=free_memory_bytes(),
        model_bytes=plan.model_bytes,
    )
    return min(room, count_worthwhile([one.recording.duration_s or 0.0 for one in recordings]))


def share_threads(settings: Settings, jobs: int) -> Settings:
    """Return settings by which so many processes share the cores of this machine."""
    return replace(settings, threads=settings.threads or max(1, count_cores() // jobs))


def plan_hearing_elsewhere(settings: Settings, vocabulary: Vocabulary) -> Plan:
    """Return how the workers of a cluster make the recogniser that this machine would make.

    Raises:
        ModelMissing: no model for it is on this machine.
        UsageError: it is a plug-in's.
    """
    one_each = replace(settings, threads=settings.threads or 1)
    return plan_recogniser(one_each, vocabulary).for_elsewhere()


def make_tasks(plan: Plan, settings: Settings, audio_folder: Path, crew: Crew) -> MakeTask:
    """Return what makes a task of a recording."""

    def make_task(recording: Recording) -> HearingTask:
        return HearingTask(
            plan=plan,
            segments=make_segment_options(settings),
            recording=recording,
            path=audio_folder.absolute() / recording.file,
            is_elsewhere=crew.is_elsewhere,
        )

    return make_task
