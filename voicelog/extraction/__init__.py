"""Words in, entries out: the reader and the logbook."""
