"""Hearing: real files, real engines, and noise in which nobody speaks."""
