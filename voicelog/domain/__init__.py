"""Immutable values in the archivist's words; imports nothing of ours but errors."""
