"""Plurals and the two spellings of English, so that term files needn't list them."""

from __future__ import annotations

import re

_BRITISH_AMERICAN = (
    ("colour", "color"),
    ("grey", "gray"),
    ("mould", "mold"),
    ("odour", "odor"),
    ("programme", "program"),
    ("favour", "favor"),
    ("centre", "center"),
    ("plasticiser", "plasticizer"),
    ("theatre", "theater"),
    ("pencilled", "penciled"),
    ("labelled", "labeled"),
    ("millimetre", "millimeter"),
    ("centimetre", "centimeter"),
)

# Words whose plural is on the first part: "locks of hair", "books of matches".
_HEAD_FIRST = re.compile(r"^(\S+)( (?:of|for|in|to|from) .+)$")
_TAKES_ES = re.compile(r"(?:s|x|z|ch|sh)$")
_CONSONANT_Y = re.compile(r"[^aeiou]y$")


def spelling_variants(form: str) -> tuple[str, ...]:
    """Return the form in British and American spelling.

    >>> spelling_variants("colour photograph")
    ('colour photograph', 'color photograph')
    """
    spellings = [form]
    for british, american in _BRITISH_AMERICAN:
        if british in form:
            spellings.append(form.replace(british, american))
        elif re.search(rf"\b{american}(?!m)", form):
            spellings.append(form.replace(american, british))
    return tuple(dict.fromkeys(spellings))


def plural_forms(form: str) -> tuple[str, ...]:
    """Return the plural of a noun, or nothing for a form that is none.

    >>> plural_forms("postcard"), plural_forms("lock of hair"), plural_forms("obituary")
    (('postcards',), ('locks of hair',), ('obituaries',))
    """
    if head := _HEAD_FIRST.match(form):
        return tuple(f"{plural}{head[2]}" for plural in plural_forms(head[1]))
    if form.endswith(("s", "ed", "ing", "down", " in", " on")) and not form.endswith(
        ("ss", "us", "clipping", "cutting", "drawing")
    ):
        return ()
    if _CONSONANT_Y.search(form):
        return (f"{form[:-1]}ies",)
    return (f"{form}es",) if _TAKES_ES.search(form) else (f"{form}s",)
