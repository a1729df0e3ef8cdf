"""Rules over entries that return findings and change nothing."""
