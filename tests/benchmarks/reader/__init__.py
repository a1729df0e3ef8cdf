"""Measurements of the reader, run by hand; results beside them in README.md."""
