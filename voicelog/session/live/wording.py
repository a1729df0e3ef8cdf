"""What is said aloud to the handler: an entry read back, the mark to write."""

from __future__ import annotations

import re

from voicelog.domain.entry import Entry, Kind
from voicelog.domain.finding import Finding

# fmt: off
_ONES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen",
)
_TENS = (
    "", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
)
# fmt: on
_NUMBER = re.compile(r"\d+")


def say_number(number: int) -> str:
    """Return a number as it is said.

    >>> say_number(14), say_number(40), say_number(128), say_number(300)
    ('fourteen', 'forty', 'one hundred and twenty-eight', 'three hundred')
    >>> say_number(2031)
    'two zero three one'
    """
    if number < 20:
        return _ONES[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens] + (f"-{_ONES[ones]}" if ones else "")
    if number < 1000:
        hundreds, rest = divmod(number, 100)
        return f"{_ONES[hundreds]} hundred" + (f" and {say_number(rest)}" if rest else "")
    return " ".join(_ONES[int(digit)] for digit in str(number))


def say_numbers(text: str) -> str:
    """Return the text with its numbers as words.

    >>> say_numbers("between 12 and 13"), say_numbers("7A"), say_numbers("envelope 7")
    ('between twelve and thirteen', 'seven A', 'envelope seven')
    """

    def in_words(found: re.Match[str]) -> str:
        words = say_number(int(found[0]))
        return words + " " if text[found.end() : found.end() + 1].isalpha() else words

    return _NUMBER.sub(in_words, text)


def say_place(entry: Entry) -> str:
    """Return where an entry is.

    >>> from voicelog.domain.entry import Side
    >>> say_place(Entry(id="x", kind=Kind.LEAF, leaf="14", side=Side.RECTO))
    'fourteen recto'
    """
    if entry.leaf is None:
        return "the volume"
    return say_numbers(entry.leaf) + (f" {entry.side}" if entry.side else "")


def say_mark(entry: Entry) -> str:
    """Return what to write on an item and its enclosure once it has come loose.

    >>> from voicelog.domain.entry import Side
    >>> say_mark(Entry(id="x", kind=Kind.ITEM, leaf="14", side=Side.RECTO, item=2,
    ...                enclosure="envelope 7"))
    'write: fourteen recto, two; envelope seven'
    """
    item = f", {say_number(entry.item)}" if entry.item is not None else ""
    enclosure = f"; {say_numbers(entry.enclosure)}" if entry.enclosure else ""
    return f"write: {say_place(entry)}{item}{enclosure}"


def say_entry(entry: Entry) -> str:
    """Return an entry as it is read back.

    >>> from voicelog.domain.entry import Adhesion, Side
    >>> say_entry(Entry(id="x", kind=Kind.ITEM, leaf="14", side=Side.RECTO, item=2, quantity=2,
    ...                 item_type=("postcard",), attachment=("photo corners",),
    ...                 adhesion=Adhesion.LOOSE, dimensions=(88.9, 139.7)))
    'fourteen recto, two: two postcard, photo corners, loose, 89 by 140 millimetres'
    """
    where = say_place(entry) + (f", {say_number(entry.item)}" if entry.item is not None else "")
    name = " and ".join(entry.item_type)
    if name and entry.quantity != 1:
        name = f"{say_number(entry.quantity)} {name}"
    facts = (
        name or ("blank" if entry.blank else ""),
        entry.volume_name if entry.kind is Kind.VOLUME else "",
        entry.binding,
        entry.support,
        f"{entry.overlay} overlay" if entry.overlay else "",
        f"{say_number(entry.leaves)} leaves" if entry.leaves is not None else "",
        *entry.attachment,
        str(entry.adhesion) if entry.adhesion else "",
        *entry.condition,
        *entry.action,
        say_numbers(entry.enclosure) if entry.enclosure else "",
        f"dated {entry.date}" if entry.date else "",
        _say_size(entry),
        entry.position,
        f"caption: {entry.caption}" if entry.caption else "",
        f"remark: {entry.remark}" if entry.remark else "",
    )
    said = ", ".join(fact for fact in facts if fact)
    doubts = "; ".join(dict.fromkeys(doubt.message for doubt in entry.doubts))
    return f"{where}: {said or 'nothing yet'}" + (f". In doubt: {doubts}" if doubts else "")


def say_where(entry: Entry) -> str:
    """Return which entry is meant: its place, its number there, what it is.

    >>> from voicelog.domain.entry import Side
    >>> say_where(Entry(id="x", kind=Kind.ITEM, leaf="14", side=Side.RECTO, item=2,
    ...                 item_type=("postcard",)))
    'fourteen recto, two, postcard'
    """
    number = say_number(entry.item) if entry.item is not None else ""
    return ", ".join(part for part in (say_place(entry), number, *entry.item_type) if part)


def say_doubts(entry: Entry) -> str:
    """Return an entry's doubts as a question.

    >>> from voicelog.domain.entry import Doubt
    >>> say_doubts(Entry(id="x", kind=Kind.LEAF, leaf="9",
    ...                  doubts=(Doubt(message="not understood: 'blorf'"),)))
    "nine: not understood: 'blorf'. What is right?"
    """
    doubts = "; ".join(dict.fromkeys(doubt.message for doubt in entry.doubts))
    return f"{say_where(entry)}: {doubts or 'not sure'}. What is right?"


def say_finding(finding: Finding) -> str:
    """Return what is wrong, as it is said."""
    return say_numbers(finding.message)


def say_remedy(finding: Finding) -> str:
    """Return what to do about a finding, as it is said."""
    return say_numbers(finding.remedy)


def _say_size(entry: Entry) -> str:
    if entry.dimensions is None:
        return ""
    return " by ".join(f"{side:.0f}" for side in entry.dimensions) + " millimetres"
