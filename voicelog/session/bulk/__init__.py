"""Many recordings at once: heard in any order and several at a time, read as they were said."""
