"""Spoken and written sizes, in millimetres."""
