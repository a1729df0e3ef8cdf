"""What `voicelog doctor --microphone` does: listen for three seconds and say how it sounds."""

from __future__ import annotations

import click
import numpy as np
from rich.live import Live
from rich.text import Text

from voicelog.cli.terminal import make_message_console, safe, say
from voicelog.session.live.microphone import Input, MicrophoneSource, find_input, list_inputs
from voicelog.session.live.resampling import StreamResampler
from voicelog.session.live.sound_check import SoundCheck, Verdict, check_sound
from voicelog.session.live.sources import Pcm

_TRIAL_S = 3.0
# Opening a microphone clicks, and some fade in.
_SETTLING_S = 0.3
_QUIETEST_DB = -60.0
_METER_CELLS = 30


def try_microphone(wanted: str) -> int:
    """Listen to a microphone, say in plain words whether speech was clear.

    Returns:
        the exit status: 0 where it was clear, else 1.

    Raises:
        MicrophoneMissing: there is no such microphone.
        SourceLost: it was unplugged meanwhile.
    """
    inputs = list_inputs()
    device = find_input(inputs, wanted)
    for each in inputs:
        click.echo(safe(format_input(each, is_tried=each == device)))
    say(f"Speak for {_TRIAL_S:.0f} seconds, from where you will sit, as loud as you will.")
    samples = _listen(str(device.number))
    check = check_sound(samples.astype(np.float32) / np.float32(32768))
    click.echo(safe(describe(check, microphone=device.name)))
    return 0 if check.verdict is Verdict.CLEAR else 1


def format_input(device: Input, *, is_tried: bool) -> str:
    """Return one line about an input, marked where it is the one to be tried."""
    marker = ">" if is_tried else " "
    channels = f"{device.channels} channel{'s' if device.channels > 1 else ''}"
    default = ", the system's choice" if device.is_default else ""
    return (
        f"{marker} {device.number}  {device.name} ({channels}, {device.sample_rate_hz} Hz{default})"
    )


def format_level(samples: Pcm) -> str:
    """Return a meter for the loudest of some samples, from -60 dB to full scale.

    >>> format_level(np.array([3277], dtype=np.int16))
    '[####################          ] -20 dB'
    """
    peak = max(1.0, float(np.abs(samples.astype(np.int32)).max(initial=0)))
    level_db = 20 * np.log10(peak / 32768)
    cells = round(max(0.0, 1 - level_db / _QUIETEST_DB) * _METER_CELLS)
    return f"[{'#' * cells:<{_METER_CELLS}}] {round(level_db)} dB"


def describe(check: SoundCheck, *, microphone: str) -> str:
    """Return in plain words how speech sounded, and what to do about it."""
    match check.verdict:
        case Verdict.CLEAR:
            return (
                f"Clear: your voice came at {check.speech_db} dB, the room at "
                f"{_or_nothing(check.noise_db)}."
            )
        case Verdict.NOTHING:
            return (
                f"Nothing came from {microphone}, not even the noise of a room: see whether "
                "it is switched on and not muted, or name another with --input."
            )
        case Verdict.CLIPPING:
            return (
                "Too loud: the peaks of your voice were cut off. Turn the microphone's "
                "level down, or move it away from your mouth."
            )
        case Verdict.HUM:
            return (
                "Hum of the mains, at "
                f"{_or_nothing(check.noise_db)}: try another cable or socket, and keep the "
                "microphone away from chargers and lamps."
            )
        case Verdict.NO_SPEECH:
            return (
                f"No speech was heard in {microphone}, only sound at "
                f"{_or_nothing(check.noise_db)}. If you did speak, it is probably the wrong "
                "device: name another with --input."
            )
        case Verdict.TOO_QUIET:
            return (
                f"Too quiet: your voice came at {check.speech_db} dB. Move the microphone "
                "nearer to your mouth, or turn its level up."
            )
        case Verdict.NOISY:
            return (
                f"Too noisy: your voice came at {check.speech_db} dB, the room at "
                f"{_or_nothing(check.noise_db)}. Move the microphone nearer to your mouth, "
                "or away from what makes the noise."
            )


def _or_nothing(level_db: float | None) -> str:
    return "no level at all" if level_db is None else f"{level_db} dB"


def _listen(wanted: str) -> Pcm:
    """Return three seconds of a microphone at 16 000 Hz, with a meter meanwhile."""
    pieces: list[Pcm] = []
    console = make_message_console()
    with (
        MicrophoneSource(wanted) as source,
        Live(console=console, transient=True, auto_refresh=False) as live,
    ):
        resampler = StreamResampler(source.sample_rate_hz)
        heard_s = -_SETTLING_S
        while heard_s < _TRIAL_S:
            block = source.read(timeout_s=0.5)
            if block is None:
                continue
            if heard_s >= 0:
                pieces.append(resampler.push(block.samples))
            heard_s += block.duration_s
            if console.is_terminal:
                live.update(Text(format_level(block.samples)), refresh=True)
        pieces.append(resampler.finish())
    return np.concatenate(pieces)
