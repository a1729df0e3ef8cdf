"""Bringing in a bag: what was logged at another bench becomes part of a log."""
