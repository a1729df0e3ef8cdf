"""IIIF Presentation 3: a manifest for each volume, every side a canvas."""
