"""What a live session is made of."""

from __future__ import annotations

from voicelog.recognition.commands import CommandListener
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.models.vosk_files import read_vosk_words
from voicelog.session.live.loudspeaker import Player, Speaking
from voicelog.session.live.options import Key, LiveOptions
from voicelog.session.live.orders import order_wordings
from voicelog.session.live.recorder import RecorderOptions
from voicelog.session.live.voices import find_voice
from voicelog.settings import Settings
from voicelog.wiring.closing import check_volume
from voicelog.wiring.hearing import installed_models, make_segment_options, make_speakers


def make_live_options(settings: Settings, player: Player) -> LiveOptions:
    """Return how a live session goes, by the settings."""
    return LiveOptions(
        segments=make_segment_options(settings),
        recorder=RecorderOptions(),
        speaking=Speaking(
            player=player,
            tone_volume=settings.tone_volume,
            voice=find_voice() if settings.voice else None,
        ),
        find_findings=lambda log, accession, volume: check_volume(log, accession, volume, settings),
        commands=make_command_listener(settings),
        read_back=settings.read_back,
        handler=settings.handler or None,
        speakers=make_speakers(settings),
    )


def make_command_listener(settings: Settings) -> CommandListener | None:
    """Return what hears along beside the recogniser and knows commands, or None.

    There is none where no small vosk model is on this machine. It is held to the commands
    as they are worded, and to every single word it knows: those are the noise in which it
    must not hear a command.
    """
    small = [
        model
        for model in installed_models(settings)
        if model.engine == "vosk" and not model.full_size
    ]
    if not small:
        return None
    smallest = min(small, key=lambda model: model.size_bytes)
    wordings = order_wordings()
    return CommandListener(
        VoskRecogniser(
            VoskOptions(
                model_folder=smallest.folder,
                word_list=(*sorted(wordings), *read_vosk_words(smallest.folder)),
            )
        ),
        wordings,
    )


def make_live_keys(settings: Settings) -> dict[str, Key]:
    """Return which key stands for what; those without a key are left out."""
    keys = {
        settings.key_check: Key.CHECK,
        settings.key_pause: Key.PAUSE,
        settings.key_strike: Key.STRIKE,
    }
    return {name: key for name, key in keys.items() if name}
