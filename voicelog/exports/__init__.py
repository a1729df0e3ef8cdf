"""Entries out of the house: one file for each format, strangers to each other."""
