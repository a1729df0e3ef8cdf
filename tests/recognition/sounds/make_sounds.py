"""Make the spoken sounds of these tests again: ``python make_sounds.py``.

The voice is hibari-tts 0.2.1 (Apache-2.0): ``pip install 'voicelog[demo-voice]'``.
The silence between two notes is exactly 1 s of a converter's last bit.
"""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
from hibari import Hibari  # type: ignore[import-untyped]

HERE = Path(__file__).parent
VOICE_RATE_HZ = 24_000


def main() -> None:
    """Write one recording that holds every line of spoken_notes.txt."""
    voice = Hibari()
    rng = np.random.default_rng(1)
    quiet = (rng.integers(-1, 2, VOICE_RATE_HZ) / 32768).astype(np.float32)
    parts = [quiet]
    for seed, line in enumerate(
        (HERE / "spoken_notes.txt").read_text(encoding="utf-8").splitlines()
    ):
        sound = voice(line, seed=seed)
        loud = np.flatnonzero(np.abs(sound) > 0.003)
        parts += [sound[loud[0] : loud[-1] + 1], quiet]
    samples = (np.concatenate(parts) * 32767).astype(np.int16)
    with av.open(HERE / "spoken_notes.flac", "w") as container:
        stream = container.add_stream("flac", rate=16_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(samples[None], format="s16", layout="mono")
        frame.sample_rate = VOICE_RATE_HZ
        resampler = av.AudioResampler(format="s16", layout="mono", rate=16_000, frame_size=4096)
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            container.mux(stream.encode(piece))
        container.mux(stream.encode(None))


if __name__ == "__main__":
    main()
