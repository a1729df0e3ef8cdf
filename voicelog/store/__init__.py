"""The log on disk: one SQLite file and a folder of recordings."""
