"""The sizes of the network, for those who write and read it without PyTorch.

After Povey et al., "Semi-orthogonal low-rank matrix factorization for deep neural
networks" (Interspeech 2018), whose usual bypass scale is 0.66.
"""

from __future__ import annotations

INPUT = 200
HIDDEN = 640
BOTTLENECK = 128
LAYERS = 11
PAIR_RANK = 160
"""Through how many numbers the scores of pairs of phones pass."""

BYPASS = 0.66
"""How much of a layer's input is added to its output."""
