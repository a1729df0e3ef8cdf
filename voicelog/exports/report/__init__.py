"""The report: what was found, done and left open, on one page and in detail."""
