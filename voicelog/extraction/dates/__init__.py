"""Spoken and written dates, read to EDTF (ISO 8601-2:2019)."""
