"""Images on disk: reading, matching and looking at them; never writing."""
