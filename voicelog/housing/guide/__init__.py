"""The rebuild guide: where everything in a volume was, for somebody who never saw it."""
