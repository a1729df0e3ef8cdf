"""Taking notes in: from recordings and from typed lines, into the log."""
