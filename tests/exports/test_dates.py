"""Dates as other standards want them, against an independent reader of EDTF."""

from __future__ import annotations

import warnings
from typing import Any

import pytest

from voicelog.exports.dates import read_date

# The wordings of DACS 2.4 that have a form in EDTF: "1906 March 17", "1849-1851", "probably
# 1867", "approximately 1925", "1890s", "circa August 1975" are its examples (saa-ts-dacs/dacs).
WORDINGS = (
    # EDTF | words | plain | first year, last year
    ("1906-03-17", "1906 March 17", True, ("1906", "1906")),
    ("1849/1851", "1849-1851", True, ("1849", "1851")),
    ("1867?", "probably 1867", False, ("1867", "1867")),
    ("1925~", "circa 1925", False, ("1925", "1925")),
    ("189X", "1890s", False, ("1890", "1899")),
    ("18XX", "1800-1899", False, ("1800", "1899")),
    ("1975-08~", "circa 1975 August", False, ("1975", "1975")),
    ("1972-22", "1972 summer", False, ("1972", "1972")),
    ("1955%", "probably circa 1955", False, ("1955", "1955")),
    ("[..1961]", "1961 or earlier", False, None),
    ("[1950..]", "1950 or later", False, None),
    ("[1950..1955]", "between 1950 and 1955", False, ("1950", "1955")),
    ("../1952~", "until circa 1952", False, None),
    ("1952/..", "1952 onwards", False, None),
    ("/1952", "unknown-1952", False, None),
    ("1952/", "1952-unknown", False, None),
    ("195X/196X", "1950s-1960s", False, ("1950", "1969")),
    ("2004-XX", "2004, month unknown", False, ("2004", "2004")),
    ("2004-07-XX", "2004 July, day unknown", False, ("2004", "2004")),
    ("XXXX-06-04", "year unknown, June 4", False, None),
    # Level 2, which notes never give but a reviewer may: shown as it is.
    ("{1667,1668}", "{1667,1668}", False, None),
    ("2004-06~-11", "2004-06~-11", False, None),
)


@pytest.mark.parametrize(("edtf", "words", "plain", "years"), WORDINGS)
def test_a_date_is_said_in_the_words_of_dacs(
    edtf: str, words: str, years: tuple[str, str] | None, *, plain: bool
) -> None:
    """And says whether it is as plain as level 0, and which years it can be."""
    date = read_date(edtf)
    assert (date.words, date.is_plain, date.years) == (words, plain, years)


@pytest.mark.parametrize("edtf", [one[0] for one in WORDINGS if one[3]])
def test_years_agree_with_an_independent_reader(edtf: str) -> None:
    """python-edtf gives strict bounds; ours are the same, to the year."""
    with warnings.catch_warnings():
        # It builds its grammar with forms that its parser library warns about.
        warnings.simplefilter("ignore")
        from edtf import parse_edtf  # noqa: PLC0415

        theirs: Any = parse_edtf(edtf)
        bounds = (theirs.lower_strict(), theirs.upper_strict())
    assert read_date(edtf).years == tuple(f"{bound.tm_year:04d}" for bound in bounds)
