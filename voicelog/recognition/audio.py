"""Recordings in, mono sound at 16 000 Hz out, block by block.

Whatever the file's format, rate and number of channels, memory stays bounded by one
block. Only the file itself is ever opened: playlists and other formats that would
send the decoder to further files or the network are not accepted.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.packet import Packet

from voicelog.errors import UnreadableRecording
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

logger = logging.getLogger(__name__)

MAX_RECORDING_S = 24 * 3600.0
"""No spoken session lasts longer; a file that claims to is read up to here."""

_BLOCK_S = 5.0
_FORMATS = "wav,w64,aiff,caf,au,flac,ogg,mp3,aac,amr,mov,mp4,m4a,3gp,matroska,webm,asf,avi,mov,opus"
# What real recorders write lies well inside; outside, a few bytes of header could
# ask for hours of resampling.
_RATES_HZ = range(4_000, 768_001)
_MAX_CHANNELS = 32
# Formats that write down how long they are, so that a shorter file has lost its end.
_LENGTH_IS_WRITTEN = ("flac", "wav", "mov,mp4,m4a,3gp,3g2,mj2")
# 0.5 is two unrelated channels, 0.25 a voice on one of two, near 0 a voice that
# cancels itself because one channel was wired the wrong way round.
_CANCELLED = 0.3

OnDamage = Callable[[str], None]
"""Is told, in one sentence, that a recording is damaged but partly usable."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordingFacts:
    """What a recording is, apart from what is said in it.

    Attributes:
        duration_s: how much sound the file really holds, in seconds.
        sample_rate_hz: the file's own rate.
        channels: the file's own number of channels.
        codec: how the sound is coded: "pcm_s16le", "flac", "mp3", "aac", "opus", ...
        recorded_at: when the recorder says it began (ISO 8601 with zone), or None.
        damage: one sentence on what is wrong with the file, or None.
    """

    duration_s: float
    sample_rate_hz: int
    channels: int
    codec: str
    recorded_at: str | None
    damage: str | None = None


def probe_recording(path: Path) -> RecordingFacts:
    """Return what the recording is, without decoding it.

    Raises:
        UnreadableRecording: the file is missing, empty, or holds no sound.
    """
    with opened_recording(path) as (container, stream):
        declared_s = _declared_s(path, container, stream)
        held_s = _held_s(container, stream, declared_s=declared_s)
        if held_s <= 0:
            raise _silent(path)
        return RecordingFacts(
            duration_s=round(held_s, 3),
            sample_rate_hz=stream.rate or 0,
            channels=stream.channels,
            codec=stream.codec_context.name,
            recorded_at=_find_wall_clock({**container.metadata, **stream.metadata}),
            damage=_describe_loss(path, container, held_s=held_s, declared_s=declared_s),
        )


def iter_blocks(path: Path, *, on_damage: OnDamage | None = None) -> Iterator[Samples]:
    """Decode the recording into blocks of mono sound at 16 000 Hz, in order.

    A damaged or truncated file gives whatever can be decoded, and ``on_damage`` is told.

    Args:
        path: the recording.
        on_damage: is told, once at the end, what could not be decoded.

    Yields:
        Samples, float32, shape (n,), 16 000 Hz, in [-1, 1]; never empty.

    Raises:
        UnreadableRecording: nothing in the file can be decoded as sound.
    """
    with opened_recording(path) as (container, stream):
        decoding = _Decoding(container, stream)
        decoded_s = 0.0
        for channels in _in_blocks(decoding.resampled()):
            decoded_s += channels.shape[1] / SAMPLE_RATE_HZ
            yield mix_down(channels)
            if decoded_s >= MAX_RECORDING_S:
                decoding.problem = f"{path} is longer than 24 hours; only the first 24 were read."
                break
        if not decoded_s:
            raise _silent(path)
        damage = decoding.problem or _describe_loss(
            path, container, held_s=decoded_s, declared_s=_declared_s(path, container, stream)
        )
        if not damage and decoding.bad_packets:
            damage = (
                f"{path} is damaged in {decoding.bad_packets} places; the sound between "
                "them was used."
            )
    if damage:
        logger.warning("Recording damaged: %.1f s decoded", decoded_s)
        if on_damage is not None:
            on_damage(damage)


@contextmanager
def opened_recording(path: Path) -> Iterator[tuple[InputContainer, AudioStream]]:
    """Open a recording and its first sound track.

    Raises:
        UnreadableRecording: there is no file with sound at this place.
    """
    _check_file(path)
    try:
        file = path.open("rb")
    except OSError as error:
        raise _unreadable(path, f"can't be read ({error.strerror}); check its permissions") from (
            error
        )
    with file:
        try:
            # An open file, not its name: a name with a colon in it would be taken for
            # a protocol. The allowed formats keep playlists and their addresses out.
            container = av.open(
                file,
                mode="r",
                metadata_errors="ignore",
                container_options={"format_whitelist": _FORMATS, "protocol_whitelist": "none"},
            )
        except (av.FFmpegError, ValueError, OverflowError) as error:
            raise _unreadable(
                path,
                "is not a sound recording, or its beginning or index is lost; "
                "use WAV, FLAC, MP3, M4A or Opus",
            ) from error
        with container:
            yield container, _find_sound(path, container)


def _check_file(path: Path) -> None:
    try:
        if path.is_dir():
            raise _unreadable(path, "is a folder; name the recordings inside it")
        if not path.exists():
            raise _unreadable(path, "does not exist; check the name")
        if not path.is_file():
            # Opening a pipe or a device could wait for ever or never end.
            raise _unreadable(path, "is not an ordinary file; copy the sound into one")
        if not path.stat().st_size:
            raise _unreadable(path, "is empty (0 bytes); the recording was never written")
    except (OSError, ValueError) as error:
        raise _unreadable(path, "can't be looked at; check the name and its permissions") from (
            error
        )


def _find_sound(path: Path, container: InputContainer) -> AudioStream:
    if not container.streams.audio:
        held = "a picture or film without sound" if container.streams.video else "no sound"
        raise _unreadable(path, f"holds {held}; use a recording with a sound track")
    stream = container.streams.audio[0]
    # A header may promise sound that is coded in a way nobody knows.
    if getattr(stream, "codec_context", None) is None:
        raise _unreadable(
            path, "holds sound that is coded in an unknown way; use WAV, FLAC, MP3, M4A or Opus"
        )
    rate_hz, channels = stream.rate or 0, stream.channels
    if rate_hz not in _RATES_HZ or not 1 <= channels <= _MAX_CHANNELS:
        raise _unreadable(
            path,
            f"claims {rate_hz} samples a second on {channels} channels, which no recorder "
            "writes; its header is damaged, so export it again",
        )
    stream.codec_context.thread_type = "NONE"  # Speech decodes far faster than it is recognised.
    return stream


class _Decoding:
    """One pass over a sound track; remembers what went wrong on the way."""

    def __init__(self, container: InputContainer, stream: AudioStream) -> None:
        self._container = container
        self._stream = stream
        self.bad_packets = 0
        self.problem: str | None = None

    def resampled(self) -> Iterator[npt.NDArray[np.float32]]:
        """Yield sound at 16 000 Hz, shape (channels, n)."""
        resampler: AudioResampler | None = None
        heard_as: tuple[str, str, int] | None = None
        for frame in self._frames():
            shape = (frame.format.name, frame.layout.name, frame.sample_rate)
            if resampler is None or shape != heard_as:
                # Joined files change their shape on the way: finish the old one first.
                yield from resample(resampler, None)
                resampler = AudioResampler(format="fltp", rate=SAMPLE_RATE_HZ)
                heard_as = shape
            frame.pts = None  # Damaged time stamps must not open gaps.
            yield from resample(resampler, frame)
        yield from resample(resampler, None)

    def _frames(self) -> Iterator[AudioFrame]:
        for packet in self.packets():
            try:
                frames = packet.decode()
            except (av.FFmpegError, ValueError):
                self.bad_packets += 1
                continue
            for frame in frames:
                if isinstance(frame, AudioFrame) and frame.samples:
                    yield frame

    def packets(self) -> Iterator[Packet[AudioStream]]:
        packets = self._container.demux(self._stream)
        while True:
            try:
                packet = next(packets, None)
            except (av.FFmpegError, ValueError):
                self.bad_packets += 1
                return
            if packet is None:
                return
            yield packet


def resample(
    resampler: AudioResampler | None, frame: AudioFrame | None
) -> Iterator[npt.NDArray[np.float32]]:
    """Yield what a frame becomes at another rate, shape (channels, n); None ends the sound."""
    if resampler is None:
        return
    try:
        frames = resampler.resample(frame)
    except (av.FFmpegError, ValueError):
        # Nothing was ever put in, so that there is nothing to flush.
        return
    for resampled in frames:
        if resampled.samples:
            yield resampled.to_ndarray().astype(np.float32, copy=False)


def _in_blocks(
    pieces: Iterator[npt.NDArray[np.float32]],
) -> Iterator[npt.NDArray[np.float32]]:
    wanted = round(_BLOCK_S * SAMPLE_RATE_HZ)
    waiting: list[npt.NDArray[np.float32]] = []
    for piece in pieces:
        if waiting and waiting[0].shape[0] != piece.shape[0]:
            yield np.concatenate(waiting, axis=1)
            waiting = []
        waiting.append(piece)
        if sum(part.shape[1] for part in waiting) >= wanted:
            yield np.concatenate(waiting, axis=1)
            waiting = []
    if waiting:
        yield np.concatenate(waiting, axis=1)


def mix_down(channels: npt.NDArray[np.float32]) -> Samples:
    """Mix the channels, or take the loudest where mixing would lose the voice."""
    # Float files may hold anything, infinities and "not a number" included.
    clean = np.clip(np.nan_to_num(channels), -1.0, 1.0)
    if clean.shape[0] == 1:
        mono: Samples = clean[0]
        return mono
    mixed = clean.mean(axis=0, dtype=np.float32)
    energies = np.square(clean).mean(axis=1)
    loudest = int(energies.argmax())
    if np.square(mixed).mean() < _CANCELLED * energies[loudest]:
        mixed = clean[loudest]
    result: Samples = mixed
    return result


def _declared_s(path: Path, container: InputContainer, stream: AudioStream) -> float | None:
    """Return how long the file says it is; None where it does not."""
    if stream.duration and stream.time_base:
        length_s = float(stream.duration * stream.time_base)
    elif container.duration:
        length_s = container.duration / av.time_base
    else:
        return None
    return length_s * _riff_growth(path) if container.format.name == "wav" else length_s


def _riff_growth(path: Path) -> float:
    """Return how many times longer a WAV file should be; the decoder believes its end.

    The RIFF header (bytes 4 to 7) gives the file's size less 8. A recorder that was
    switched off leaves 0 or all ones there, which says nothing.
    """
    with path.open("rb") as file:
        header = file.read(8)
    there = path.stat().st_size
    should = int.from_bytes(header[4:8], "little") + 8
    if header[:4] != b"RIFF" or should <= there or should > 0xFFFFFFF0:
        return 1.0
    return should / there


def _held_s(container: InputContainer, stream: AudioStream, *, declared_s: float | None) -> float:
    """Return how much sound is there, counted packet by packet."""
    packets = _Decoding(container, stream).packets()
    ticks = sum(packet.duration or 0 for packet in packets)
    if ticks and stream.time_base:
        return float(ticks * stream.time_base)
    return declared_s or 0.0


def _describe_loss(
    path: Path, container: InputContainer, *, held_s: float, declared_s: float | None
) -> str | None:
    if declared_s is None or container.format.name not in _LENGTH_IS_WRITTEN:
        return None
    if declared_s - held_s <= max(0.5, 0.01 * declared_s):
        return None
    return (
        f"{path} is cut short: {_format_duration(held_s)} of "
        f"{_format_duration(declared_s)} are there and were used."
    )


def _format_duration(seconds: float) -> str:
    if not math.isfinite(seconds) or seconds > MAX_RECORDING_S:
        return "more than 24 hours"
    minutes, rest_s = divmod(seconds, 60)
    return f"{int(minutes)} min {rest_s:.1f} s" if minutes else f"{rest_s:.1f} s"


def _find_wall_clock(tags: dict[str, Any]) -> str | None:
    """Return when the recording began, if the recorder wrote it down.

    MP4 has one UTC time ("creation_time"). Broadcast WAV (EBU Tech 3285, bext chunk,
    OriginationDate and OriginationTime) has a date and a local time without a zone:
    this machine's zone is taken (common practice, no published source).
    """
    clock = str(tags.get("creation_time", "")).strip()
    day = str(tags.get("date", "")).strip()
    for text in (clock, f"{day}T{clock}"):
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            continue
        if "T" not in text and " " not in text:
            continue
        # 1904 and 1970 are where these formats start to count: no clock was set.
        if moment.year > 1970:
            return moment.astimezone(moment.tzinfo or None).isoformat(timespec="seconds")
    return None


def _silent(path: Path) -> UnreadableRecording:
    return _unreadable(path, "holds no sound that can be decoded; record or export it again")


def _unreadable(path: Path, what: str) -> UnreadableRecording:
    return UnreadableRecording(f"{path} {what}.", source=str(path))
