"""Recordings as the log keeps them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """One recording in the log's ``audio/`` folder.

    Attributes:
        file: its name inside ``audio/``, unique in the log.
        uid: globally unique and never reused.
        original_name: the file name it came with.
        sha256: fingerprint of its bytes, in hexadecimal; empty while it is being made, which
            only one recording of a log can be.
        size_bytes: its size.
        duration_s: its length in seconds, or None where the file doesn't say.
        sample_rate_hz: samples a second.
        channels: 1 for mono, 2 for stereo, ...
        codec: how the sound is coded, in the decoder's word ("flac", "pcm_s16le").
        recorded_at: wall clock at its beginning, ISO 8601 with zone, or None.
        handler: who speaks, or None.
        taken_at: wall clock when it was taken into the log.
        heard_to_s: everything before this second has been heard and stored.
        finished_at: wall clock when it was heard to its end, or None.
        session: the id of its session, or None in logs from before there were sessions.
        removed_at: wall clock when its sound was removed, or None while it is there.
        removed_by: the rule by which it was removed, as the setting names it.
    """

    file: str
    uid: str
    original_name: str
    sha256: str
    size_bytes: int
    taken_at: str
    duration_s: float | None = None
    sample_rate_hz: int | None = None
    channels: int | None = None
    codec: str | None = None
    recorded_at: str | None = None
    handler: str | None = None
    heard_to_s: float = 0.0
    finished_at: str | None = None
    session: str | None = None
    removed_at: str | None = None
    removed_by: str | None = None
