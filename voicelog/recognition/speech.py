"""Where in the sound somebody speaks: the Silero detector, block by block.

The detector is the ONNX model that faster-whisper carries. Its own wrapper wants the
whole recording at once; here the model's memory is carried from block to block, so
that a recording of any length takes the same room.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Samples

FRAME_SAMPLES = 512
"""The detector judges 512 samples at a time: 32 ms."""

FRAME_S = FRAME_SAMPLES / SAMPLE_RATE_HZ

_CONTEXT_SAMPLES = 64
_MEMORY_SHAPE = (1, 1, 128)

# The detector misses speech more than about 35 dB below full scale (measured on human
# speech: of clips lowered by 40 dB some vanish). Recorders left on a low level are
# common, so quiet sound is raised before the detector (never the recogniser) hears it.
_WANTED_LEVEL = 0.1
_MAX_GAIN = 30.0
_LEVEL_MEMORY_FRAMES = round(30 / FRAME_S)


class SpeechDetector:
    """Gives each 32 ms of a stream of sound its probability of being speech."""

    def __init__(self) -> None:
        # Here and not above: it loads two inference libraries, half a second of start-up.
        from faster_whisper.vad import (  # type: ignore[import-untyped]  # noqa: PLC0415
            get_vad_model,
        )

        self._session = get_vad_model().session
        self._hidden = np.zeros(_MEMORY_SHAPE, dtype=np.float32)
        self._cell = np.zeros(_MEMORY_SHAPE, dtype=np.float32)
        self._context = np.zeros(_CONTEXT_SAMPLES, dtype=np.float32)
        self._level = _Level()

    def probabilities(self, samples: Samples) -> npt.NDArray[np.float32]:
        """Return the probability of speech in each frame that follows.

        Args:
            samples: the next stretch of sound, a whole number of frames.

        Returns:
            One value in [0, 1] per frame, float32, shape (n / 512,).
        """
        if not len(samples):
            return np.zeros(0, dtype=np.float32)
        raised = self._level.raise_frames(samples.reshape(-1, FRAME_SAMPLES))
        tails = raised[:, -_CONTEXT_SAMPLES:]
        contexts = np.concatenate([self._context[None, :], tails[:-1]])
        self._context = tails[-1]
        output, self._hidden, self._cell = self._session.run(
            None,
            {
                "input": np.concatenate([contexts, raised], axis=1),
                "h": self._hidden,
                "c": self._cell,
            },
        )
        result: npt.NDArray[np.float32] = output.reshape(-1)
        return result


class _Level:
    """Raises quiet sound towards one level, by the loudest of the last half minute."""

    def __init__(self) -> None:
        self._loudest = 0.0
        self._decay = 0.5 ** (1 / _LEVEL_MEMORY_FRAMES)

    def raise_frames(self, frames: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
        gains = np.empty(len(frames), dtype=np.float32)
        for index, level in enumerate(np.sqrt(np.square(frames).mean(axis=1))):
            self._loudest = max(float(level), self._loudest * self._decay)
            gains[index] = min(_MAX_GAIN, max(1.0, _WANTED_LEVEL / max(self._loudest, 1e-6)))
        result: npt.NDArray[np.float32] = frames * gains[:, None]
        return result
