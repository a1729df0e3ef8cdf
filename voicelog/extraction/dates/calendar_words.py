"""Names of months and seasons, and the words around dates."""

from __future__ import annotations

MONTHS = {
    "january": 1, "february": 2, "march": 3, "april": 4, "may": 5, "june": 6, "july": 7,
    "august": 8, "september": 9, "october": 10, "november": 11, "december": 12,
    "jan": 1, "feb": 2, "mar": 3, "apr": 4, "jun": 6, "jul": 7, "aug": 8, "sep": 9, "sept": 9,
    "oct": 10, "nov": 11, "dec": 12,
}  # fmt: skip
OTHER_WORDS_TOO = frozenset({"may", "march", "mar", "dec", "sep", "jan", "jun"})
"""Names of months that are also other words, or parts of them: alone they are no date."""
# EDTF level 1: seasons are months 21 to 24.
SEASONS = {"spring": 21, "summer": 22, "autumn": 23, "fall": 23, "winter": 24}
DECADES = {
    "tens": 1, "twenties": 2, "thirties": 3, "forties": 4, "fifties": 5, "sixties": 6,
    "seventies": 7, "eighties": 8, "nineties": 9,
}  # fmt: skip
APPROXIMATE = frozenset({"circa", "about", "around", "approximately", "approx", "roughly"})
UNCERTAIN = frozenset({"possibly", "maybe", "perhaps", "probably", "presumably"})
PARTS_OF_PERIOD = frozenset({"early", "late", "mid", "middle"})
THROUGH = frozenset({"to", "through", "thru", "till", "until", "-", "/"})

# Wordings that make one end of a date, the longest first: before, after, or an interval
# whose beginning is open.
BEFORE = (
    ("on", "or", "before"), ("no", "later", "than"), ("not", "later", "than"), ("earlier", "than"),
    ("not", "after"), ("prior", "to"), ("before",), ("by",),
)  # fmt: skip
AFTER = (
    ("on", "or", "after"), ("no", "earlier", "than"), ("not", "earlier", "than"),
    ("later", "than"), ("not", "before"), ("after",), ("since",),
)  # fmt: skip
UNTIL = (("up", "to"), ("until",), ("till",))
# Wordings that follow a date and do the same.
OR_BEFORE = (("or", "earlier"), ("or", "before"))
OR_AFTER = (("or", "later"), ("or", "after"))
ONWARDS = (("onwards",), ("onward",), ("and", "later"))
OR_SO = (("or", "so"), ("or", "thereabouts"))
