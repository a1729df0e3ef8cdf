"""voicelog listen: spoken notes into a log as they are said."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

import click

from voicelog.cli.bench_front import open_front
from voicelog.cli.keys import watching_keys
from voicelog.cli.options import log_option, spoken_options
from voicelog.cli.taking import Reporter, bench_for, reporting
from voicelog.cli.terminal import say
from voicelog.errors import SourceLost
from voicelog.recognition.recogniser import Recogniser
from voicelog.session.listening import Hearing
from voicelog.session.live.closing_talk import expecting_answers
from voicelog.session.live.desk import Desk
from voicelog.session.live.loop import LiveSession
from voicelog.session.live.options import Key, LiveWatcher, Outcome
from voicelog.session.live.recovery import hear_unfinished, settle
from voicelog.session.live.sound_card import SoundCard
from voicelog.session.live.sources import SoundSource
from voicelog.session.recordings import Watcher
from voicelog.settings import Settings, read_settings
from voicelog.wiring.bench import Bench
from voicelog.wiring.hearing import make_hearing, make_recogniser
from voicelog.wiring.live import make_live_keys, make_live_options

_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@click.command()
@log_option
@spoken_options
@click.option(
    "--microphone",
    metavar="NAME",
    default=None,
    help="Its number, its name, or a part of the name, as 'voicelog doctor' lists them.",
)
def listen(folder: Path, microphone: str | None, *, given: Mapping[str, Any]) -> int:
    """Take spoken notes into a log as they are said.

    Everything is saved before it is understood. Say "pause log" and "resume log" to have
    nothing kept in between; Ctrl-C ends the session. What an earlier session left unheard
    is heard first.
    """
    settings = read_settings(overrides={**given, "microphone": microphone})
    with ExitStack() as stack:
        with reporting() as reporter:
            bench = stack.enter_context(bench_for(folder, settings, reporter))
            reporter.begin("Loading the recogniser")
            hearing = make_hearing(settings, bench.vocabulary)
            for sentence in hearing.remarks:
                reporter.say(sentence)
            _hear_what_was_left(bench, hearing, reporter)
        outcome = _listen(bench, settings, hearing.recogniser)
    say(_describe(outcome, folder))
    return 1 if outcome.failure is not None else 0


def _hear_what_was_left(bench: Bench, hearing: Hearing, reporter: Reporter) -> None:
    """Complete and hear what a crash, or a recogniser that failed, left behind."""
    waiting = settle(bench.log, on_damage=reporter.say)
    if not waiting:
        return
    total_s = sum(recording.duration_s or 0.0 for recording in waiting)
    reporter.begin(f"Hearing {total_s:.0f} s that an earlier session left unheard")
    watcher = Watcher(heard=reporter.reached, taken=reporter.took, damaged=reporter.say)
    with expecting_answers(bench.scribe, Desk(bench.scribe, bench.logbook, bench.reader)):
        notes = hear_unfinished(waiting, bench.scribe, hearing, watcher=watcher)
    count = f"{notes} {'note' if notes == 1 else 'notes'}"
    reporter.say(f"{count} of an earlier session had been saved but not heard; now they are rows.")


def _listen(bench: Bench, settings: Settings, recogniser: Recogniser) -> Outcome:
    sound_card = SoundCard()

    # Only called while the session runs, some lines below.
    def lose(loss: SourceLost) -> None:
        session.lose_source(loss)

    def regain(source: SoundSource) -> None:
        session.regain_source(source.name)

    with ExitStack() as stack:
        # Opened before the screen, so that a missing microphone is said in the open.
        source = stack.enter_context(
            sound_card.make_microphone(settings.microphone, on_lost=lose, on_return=regain)
        )
        front = stack.enter_context(open_front())
        ready = [recogniser]
        session = LiveSession(
            Desk(bench.scribe, bench.logbook, bench.reader),
            source,
            # The one that is loaded already; another only after that one failed.
            lambda: ready.pop() if ready else make_recogniser(settings, bench.vocabulary),
            options=make_live_options(settings, sound_card),
            watcher=LiveWatcher(show=front.show, taken=front.take, say=front.say),
        )
        keys = make_live_keys(settings)
        stack.enter_context(watching_keys(lambda name: _press(session, keys.get(name))))
        stack.enter_context(_ending_by_signal(session.finish))
        return session.run()


def _press(session: LiveSession, key: Key | None) -> None:
    if key is not None:
        session.press(key)


@contextmanager
def _ending_by_signal(finish: Callable[[], None]) -> Iterator[None]:
    """Let Ctrl-C, a request to end, and a closed terminal finish the session in good order."""

    def end(_number: int, _frame: FrameType | None) -> None:
        finish()

    before = {number: signal.signal(number, end) for number in _SIGNALS}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _describe(outcome: Outcome, folder: Path) -> str:
    notes = f"{outcome.notes} {'note' if outcome.notes == 1 else 'notes'}"
    minutes, seconds = divmod(round(outcome.recorded_s), 60)
    sentence = f"{notes} taken down, {minutes} min {seconds} s recorded, in {folder}."
    if outcome.unread:
        sentence += (
            f" {outcome.unread} more could not be understood; they are saved, "
            "and 'voicelog listen' hears them when it starts next."
        )
    return sentence
