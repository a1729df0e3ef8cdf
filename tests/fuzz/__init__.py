"""Coverage-guided fuzzing, run by hand; what it finds becomes a test."""
