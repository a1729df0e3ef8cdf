"""A repository's own words for vosk-bench: its language part made anew, nothing trained."""
