"""Sound taken out of a recording for good: stretches of it replaced by silence.

Everything outside the stretches stays as it is, sample by sample. WAV files are overwritten in
place, so that the old bytes are gone from the disk; FLAC files are written anew.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from voicelog.errors import UnreadableRecording

Stretch = tuple[float, float]
"""From and to, in seconds of the recording."""

# "fmt " tags: PCM, IEEE float, and the extensible form of both (Microsoft, "Multiple Channel
# Audio Data and WAVE Files").
_PLAIN = frozenset({1, 3, 0xFFFE})
_CHUNK_BYTES = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class _WavData:
    rate_hz: int
    frame_bytes: int
    silence: bytes
    first: int
    size: int


def can_silence(path: Path) -> bool:
    """Whether stretches of this recording can be silenced: plain WAV and FLAC can."""
    with path.open("rb") as file:
        head = file.read(12)
    if head[:4] == b"fLaC":
        return True
    return head[:4] == b"RIFF" and head[8:] == b"WAVE" and _find_wav_data(path) is not None


def silence(path: Path, stretches: Sequence[Stretch]) -> None:
    """Replace stretches of a recording by silence; doing it twice changes nothing more.

    Raises:
        UnreadableRecording: it is neither plain WAV nor FLAC.
        OSError: it can't be written.
    """
    with path.open("rb") as file:
        is_flac = file.read(4) == b"fLaC"
    if is_flac:
        _silence_flac(path, stretches)
        return
    data = _find_wav_data(path)
    if data is None:
        raise UnreadableRecording(
            f"{path} is neither plain WAV nor FLAC, so parts of it can't be silenced; "
            "remove the sound of the whole recording instead.",
            source=str(path),
        )
    _silence_wav(path, data, stretches)


def _silence_wav(path: Path, data: _WavData, stretches: Iterable[Stretch]) -> None:
    descriptor = os.open(path, os.O_RDWR | os.O_CLOEXEC)
    try:
        for start_s, end_s in stretches:
            frames = data.size // data.frame_bytes
            first = min(frames, max(0, int(start_s * data.rate_hz)))
            last = min(frames, max(first, int(np.ceil(end_s * data.rate_hz))))
            at = data.first + first * data.frame_bytes
            left = (last - first) * data.frame_bytes
            while left:
                size = min(left, _CHUNK_BYTES)
                os.pwrite(descriptor, data.silence * size, at)
                at, left = at + size, left - size
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _find_wav_data(path: Path) -> _WavData | None:
    """Return where the samples of a WAV file lie, or None where they are not plain ones."""
    form: tuple[int, int, int, int] | None = None
    with path.open("rb") as file:
        file.seek(12)
        while len(head := file.read(8)) == 8:
            name, size = head[:4], struct.unpack("<I", head[4:])[0]
            if name == b"fmt ":
                tag, _, rate_hz, _, frame_bytes, bits = struct.unpack("<HHIIHH", file.read(16))
                form = (tag, rate_hz, frame_bytes, bits)
                file.seek(size - 16 + size % 2, os.SEEK_CUR)
            elif name == b"data":
                if form is None or form[0] not in _PLAIN or not form[2]:
                    return None
                there = path.stat().st_size - file.tell()
                return _WavData(
                    rate_hz=form[1],
                    frame_bytes=form[2],
                    # Eight bits are written without a sign; their middle is 128.
                    silence=b"\x80" if form[3] <= 8 else b"\0",
                    first=file.tell(),
                    size=min(size, there),
                )
            else:
                file.seek(size + size % 2, os.SEEK_CUR)
    return None


def _silence_flac(path: Path, stretches: Sequence[Stretch]) -> None:
    import av  # noqa: PLC0415 - only here, and it takes a while to load

    unready = path.with_name(f".incoming-{path.name}")
    try:
        with av.open(str(path)) as source, av.open(str(unready), "w", format="flac") as target:
            track = source.streams.audio[0]
            copy = target.add_stream("flac", rate=track.rate)
            copy.format = track.format.name
            copy.layout = track.layout.name
            for key, value in source.metadata.items():
                target.metadata[key] = value
            for frame in _silenced(source.decode(track), stretches):
                target.mux(copy.encode(frame))
            target.mux(copy.encode(None))
        unready.chmod(path.stat().st_mode & 0o777)
        descriptor = os.open(unready, os.O_RDWR | os.O_CLOEXEC)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
        unready.replace(path)
    except (av.FFmpegError, ValueError) as failure:
        raise UnreadableRecording(
            f"{path} can't be decoded ({failure}), so nothing in it was silenced.",
            source=str(path),
        ) from failure
    finally:
        unready.unlink(missing_ok=True)


def _silenced(frames: Iterable[Any], stretches: Sequence[Stretch]) -> Iterator[Any]:
    import av  # noqa: PLC0415

    at = 0
    for frame in frames:
        samples = frame.to_ndarray()
        channels = 1 if frame.format.is_planar else len(frame.layout.channels)
        for start_s, end_s in stretches:
            first = max(0, int(start_s * frame.sample_rate) - at)
            last = max(0, int(np.ceil(end_s * frame.sample_rate)) - at)
            samples[:, first * channels : last * channels] = 0
        quiet = av.AudioFrame.from_ndarray(samples, frame.format.name, frame.layout.name)
        quiet.sample_rate, quiet.pts, quiet.time_base = frame.sample_rate, at, frame.time_base
        at += frame.samples
        yield quiet
