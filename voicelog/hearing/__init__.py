"""Several recognisers on one note, and what they are told to expect of it."""
