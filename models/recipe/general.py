"""General English: the definitions and examples of WordNet 3.0 (Debian's wordnet-base).

WordNet is free for any use with its notice: https://wordnet.princeton.edu/license-and-commercial-use
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

WORDNET = Path("/usr/share/wordnet")
_PARENTHESES = re.compile(r"\([^)]*\)")


def iter_sentences() -> Iterator[str]:
    """Yield every definition and every example sentence, as written."""
    for name in ("noun", "verb", "adj", "adv"):
        for line in _lines(name):
            if line.startswith("  ") or "|" not in line:
                continue
            gloss = _PARENTHESES.sub(" ", line.split("|", 1)[1])
            for part in gloss.split(";"):
                sentence = part.strip().strip('"').strip()
                if sentence:
                    yield sentence


@cache
def _lines(name: str) -> tuple[str, ...]:
    return tuple((WORDNET / f"data.{name}").read_text("utf-8", "replace").splitlines())
