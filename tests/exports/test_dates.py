"""Dates as other standards want them, against an independent reader of EDTF."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import pytest

from tests.exports.demo import CROSSWALK
from tests.exports.logs import make_log, write
from tests.exports.schemas import find_problems
from voicelog.domain.entry import Entry, Kind, Status
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


# Examples of the EDTF specification (Library of Congress, 4 February 2019), as the tests of
# python-edtf reprint them (ixc/python-edtf at 603859e): everything that a reviewer may type.
SPECIFICATION = (
    "1985-04-12", "1985-04", "1985", "2004-01-01T10:10:10+05:00", "1964/2008", "2004-06/2006-08",
    "2004-02-01/2005-02-08", "2004-02-01/2005", "2005/2006-02", "1984?", "2004-06-11?", "1984~",
    "1984%", "1979-08~", "196X", "19XX", "2004-XX", "1999-XX-XX", "2001-21", "2001-24", "/2006",
    "2004-06-01/", "../2006", "2004-01-01/..", "1984~/2004-06", "1984?/2004%", "Y170000002",
    "-1740", "2004?-06-11", "2004-06~-11", "2004-06-~11", "2004?-06-~11", "156X-12-25",
    "1560-XX-25", "15XX-12-25", "XXXX-12-XX", "[1667,1668,1670..1672]", "[..1760-12-03]",
    "[1760-12..]", "{1667,1668,1670..1672}", "2004-06-~01/2004-06-~20", "1950S2", "2001-29",
    "2001-34",
)  # fmt: skip


def test_every_example_of_the_specification_leaves_in_valid_files(tmp_path: Path) -> None:
    """Also those that no schema has a form for: they are said as they are, and nothing breaks."""
    entries = [
        Entry(
            id=f"e{nth}",
            kind=Kind.ITEM,
            accession="2031-007",
            volume="1",
            leaf="1",
            item=nth,
            date=edtf,
            status=Status.CONFIRMED,
        )
        for nth, edtf in enumerate(SPECIFICATION, start=1)
    ]
    log = make_log(tmp_path / "log", *entries)
    for format_name in ("ead3", "ead2002", "marcxml", "mods"):
        path = write(format_name, log, tmp_path / format_name, crosswalk=CROSSWALK)
        assert find_problems(format_name, path) == []
        text = path.read_text(encoding="utf-8")
        if format_name != "marcxml":
            assert [edtf for edtf in SPECIFICATION if f">{edtf}<" not in text] == [
                # In EAD a plain date is in words, and in figures in an attribute.
                edtf
                for edtf in SPECIFICATION
                if format_name != "mods" and read_date(edtf).is_plain and edtf != "1985"
            ]


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
