"""The features vosk computes, computed in the same way for training.

Kaldi's MFCC (40 coefficients from 40 mel bins, 20 to 7600 Hz, no energy) by
kaldi-native-fbank, and Kaldi's online mean normalisation with its defaults
(``OnlineCmvnOptions`` in Kaldi's feat/online-feature.h: cmn-window 600, global-frames 200,
mean only), which vosk uses whenever ``am/global_cmvn.stats`` is there.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

COEFFICIENTS = 40
FRAMES_PER_S = 100
_WINDOW = 600
_GLOBAL = 200

Features = npt.NDArray[np.float32]
"""Shape (frames, 40)."""


def mfcc(samples: npt.NDArray[np.floating], *, dither: float = 1.0) -> Features:
    """Return the features of a sound, mono at 16 000 Hz, in the range of 16-bit numbers."""
    import kaldi_native_fbank as knf  # noqa: PLC0415

    options = knf.MfccOptions()
    options.frame_opts.samp_freq = 16_000
    options.frame_opts.dither = dither
    options.frame_opts.snip_edges = True
    options.use_energy = False
    options.num_ceps = COEFFICIENTS
    options.mel_opts.num_bins = COEFFICIENTS
    options.mel_opts.low_freq = 20
    options.mel_opts.high_freq = 7600
    computer = knf.OnlineMfcc(options)
    computer.accept_waveform(16_000, samples.astype(np.float32))
    computer.input_finished()
    count = computer.num_frames_ready
    if count == 0:
        return np.zeros((0, COEFFICIENTS), dtype=np.float32)
    return np.stack([computer.get_frame(number) for number in range(count)])


def normalise(
    features: Features,
    global_mean: Features,
    *,
    history_frames: int = 0,
    history_mean: Features | None = None,
) -> Features:
    """Return the features less the mean of the last six seconds.

    Args:
        features: shape (frames, 40).
        global_mean: the mean over all training speech, shape (40,), which stands in while
            little has been heard.
        history_frames: how many frames of the same channel seem to have been heard before.
        history_mean: their mean, shape (40,).
    """
    count = len(features)
    sums = np.cumsum(features, axis=0, dtype=np.float64)
    windowed = sums.copy()
    windowed[_WINDOW:] -= sums[:-_WINDOW]
    frames = np.minimum(np.arange(1, count + 1), _WINDOW).astype(np.float64)
    if history_frames and history_mean is not None:
        earlier = np.clip(np.minimum(history_frames, _WINDOW - frames), 0, None)
        windowed += earlier[:, np.newaxis] * history_mean
        frames += earlier
    missing = np.clip(_WINDOW - frames, 0, _GLOBAL)
    windowed += missing[:, np.newaxis] * global_mean
    return np.asarray(features - windowed / (frames + missing)[:, np.newaxis], dtype=np.float32)


def splice(features: Features, *, extra: int, shift: int = 0) -> Features:
    """Return every third frame with two neighbours on each side, edges repeated.

    Args:
        features: shape (frames, 40).
        extra: how many rows to add before and after, for the network's context.
        shift: where the first of the three frames lies, 0 to 2.

    Returns:
        shape (rows, 200).
    """
    count = len(features)
    rows = (count - shift + 2) // 3
    times = np.arange(-extra, rows + extra) * 3 + shift
    around = np.clip(times[:, np.newaxis] + np.arange(-2, 3), 0, count - 1)
    return features[around].reshape(len(times), 5 * features.shape[1])
