"""Names for files and addresses: letters, digits and hyphens, whatever a volume is called."""

from __future__ import annotations

import re
import unicodedata


def make_slug(accession: str | None, volume: str | None) -> str:
    """Return an accession and a volume in letters, digits and hyphens.

    >>> make_slug("2031-007", "1"), make_slug("2031-007", "picnic album")
    ('2031-007-volume-1', '2031-007-volume-picnic-album')
    >>> make_slug(None, None), make_slug("7/2031", "Große Fahrt")
    ('volume', '7-2031-volume-grosse-fahrt')
    """
    parts = [accession or "", f"volume {volume}" if volume else ""]
    return slugify(" ".join(parts)) or "volume"


def slugify(text: str) -> str:
    """Return a text in plain letters, digits and hyphens; "" where nothing of it is left."""
    plain = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
