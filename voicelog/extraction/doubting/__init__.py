"""How sure we may be of a value, and why not."""
