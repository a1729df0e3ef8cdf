"""From a note's text to the marks on it: a spaCy pipeline of our own components."""
