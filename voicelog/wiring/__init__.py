"""Builds every object from the settings, once: the only place that knows all layers."""

from __future__ import annotations

from voicelog import __version__

MADE_BY = f"voicelog {__version__}"
