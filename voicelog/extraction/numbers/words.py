"""The words of English number names and of the alphabets that people spell with."""

from __future__ import annotations

UNITS = {
    "zero": 0, "oh": 0, "nought": 0, "naught": 0, "one": 1, "two": 2, "three": 3, "four": 4,
    "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "niner": 9,
}  # fmt: skip
TEENS = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15,
    "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19,
}  # fmt: skip
TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60,
    "seventy": 70, "eighty": 80, "ninety": 90,
}  # fmt: skip
SCALES = {"hundred": 100, "thousand": 1000}
REPEATS = {"double": 2, "triple": 3, "treble": 3}

ORDINAL_UNITS = {
    "first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7,
    "eighth": 8, "ninth": 9,
}  # fmt: skip
ORDINAL_TEENS = {
    "tenth": 10, "eleventh": 11, "twelfth": 12, "thirteenth": 13, "fourteenth": 14,
    "fifteenth": 15, "sixteenth": 16, "seventeenth": 17, "eighteenth": 18, "nineteenth": 19,
}  # fmt: skip
ORDINAL_TENS = {
    "twentieth": 20, "thirtieth": 30, "fortieth": 40, "fiftieth": 50, "sixtieth": 60,
    "seventieth": 70, "eightieth": 80, "ninetieth": 90,
}  # fmt: skip
ORDINAL_ENDINGS = frozenset({"st", "nd", "rd", "th"})

DENOMINATORS = {
    "half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4, "fourth": 4,
    "fourths": 4, "fifth": 5, "fifths": 5, "eighth": 8, "eighths": 8, "tenth": 10, "tenths": 10,
    "sixteenth": 16, "sixteenths": 16,
}  # fmt: skip
TWO_WORD_DENOMINATORS = {
    ("thirty", "second"): 32, ("thirty", "seconds"): 32,
    ("sixty", "fourth"): 64, ("sixty", "fourths"): 64,
}  # fmt: skip

# ICAO spelling alphabet (the "radio alphabet"), with the spellings recognisers write.
RADIO_ALPHABET = {
    "alfa": "A", "alpha": "A", "bravo": "B", "charlie": "C", "delta": "D", "echo": "E",
    "foxtrot": "F", "golf": "G", "hotel": "H", "india": "I", "juliett": "J", "juliet": "J",
    "kilo": "K", "lima": "L", "mike": "M", "november": "N", "oscar": "O", "papa": "P",
    "quebec": "Q", "romeo": "R", "sierra": "S", "tango": "T", "uniform": "U", "victor": "V",
    "whiskey": "W", "whisky": "W", "xray": "X", "yankee": "Y", "zulu": "Z",
}  # fmt: skip

SEPARATORS = {
    "-": "-", "dash": "-", "hyphen": "-", "minus": "-", ".": ".", "point": ".", "dot": ".",
    "/": "/", "slash": "/", "stroke": "/", ":": ":", "colon": ":",
}  # fmt: skip
