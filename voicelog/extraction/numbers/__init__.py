"""Spoken and written numbers, in every form that handlers and recognisers use."""
