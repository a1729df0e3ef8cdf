"""Several recognisers on one note."""
