"""Statements applied to the running context: entries come out.

Use :class:`Logbook`; the other modules are its parts.
"""

from voicelog.extraction.logbook.book import Logbook

__all__ = ["Logbook"]
