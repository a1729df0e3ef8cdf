"""Make the spoken sounds of these tests again: ``python make_sounds.py``.

The voice is flite's rms (BSD style licence; Debian package flite), which the model was not trained
on. Between two notes is 1 s of a converter's last bit. The names are invented.
"""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile

HERE = Path(__file__).parent
RATE_HZ = 16_000


def main() -> None:
    """Write one recording that holds every line of own_names.txt."""
    quiet = np.random.default_rng(1).integers(-1, 2, RATE_HZ).astype(np.int16)
    parts = [quiet]
    with tempfile.TemporaryDirectory() as folder:
        spoken = Path(folder) / "spoken.wav"
        for line in (HERE / "own_names.txt").read_text(encoding="utf-8").splitlines():
            command = ["flite", "-voice", "rms", "-t", line, "-o", str(spoken)]
            subprocess.run(command, check=True)
            sound, rate_hz = soundfile.read(spoken, dtype="int16")
            assert rate_hz == RATE_HZ
            parts += [sound, quiet]
    soundfile.write(HERE / "own_names.flac", np.concatenate(parts), RATE_HZ, subtype="PCM_16")


if __name__ == "__main__":
    main()
