"""Notes that say one thing about the whole volume, whatever was spoken of before.

Grammar::

    note   := closing count | imaged
    imaged := ["the volume" ["is" | "was"]] ("imaged" | "scanned" | "photographed")
              ("by openings" | "as openings" | "page by page" | "by pages")

Both go to the remark of the volume's entry, word for word: the closing check reads them
there, and a reviewer can mend them there.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from voicelog.domain.statement import KeepWords, SetValue, Statement, Subject, Target
from voicelog.extraction.closing_count import find_closing_count
from voicelog.extraction.statements.wording import Wording
from voicelog.extraction.tokens import Token

_IMAGED = re.compile(
    r"(?:(?:the|this) (?:volume|book|album) )?(?:(?:is|was|has been) )?"
    r"(?:imaged|scanned|photographed) "
    r"(?:(?:by|as|in) (?:the )?(?:openings?|spreads?|pages|single pages)|page by page)"
)
_VOLUME = Target(subject=Subject.VOLUME)


def read_whole_note(
    tokens: Sequence[Token], text: str, wording: Wording
) -> tuple[Statement, ...] | None:
    """Return the statements of a note that is one of these, or None.

    Args:
        tokens: the note's tokens.
        text: the note's text.
        wording: cuts spans out of the note.
    """
    words = [index for index, token in enumerate(tokens) if token.is_word]
    if not words:
        return None
    span = wording.span(words[0], words[-1] + 1)
    keep = KeepWords(text=span.text, target=_VOLUME, spans=(span,))
    if find_closing_count(tokens, text) is not None:
        return (keep,)
    if _IMAGED.fullmatch(" ".join(tokens[index].norm for index in words)):
        imaged = SetValue(field="action", value="imaged", target=_VOLUME, spans=(span,))
        return (imaged, keep)
    return None
