"""voicelog turns spoken notes about scrapbooks and albums into a leaf-by-leaf log."""

__version__ = "0.1.0"
