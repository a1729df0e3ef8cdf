"""The conformance suite of the Library of Congress: we take what it says is a bag.

Source, version and licence: tests/reference/bagit/README.md. Where we are stricter than the
suite asks, the case stands in a table below with the reason.
"""

from __future__ import annotations

import zipfile
from functools import cache
from pathlib import Path

import pytest

from voicelog.errors import BagRefused
from voicelog.session.bringing_in.bag_folder import check_bag

SUITE = Path(__file__).parents[2] / "reference" / "bagit" / "conformance_suite.zip"

STRICTER = {
    "holey-bag": "nothing is ever fetched, so a bag with fetch.txt is not complete",
    "duplicate-file-with-different-case": "two names for one file on some disks",
    "same-filename-listed-twice-with-different-normalization": "two names for one file",
    "special-system-files": "the manifests leave some of its files out",
}
"""Valid, or only warned of, in the suite, and refused by us."""


@cache
def names() -> tuple[str, ...]:
    with zipfile.ZipFile(SUITE) as archive:
        return tuple(archive.namelist())


def cases(*kinds: str) -> list[str]:
    found = {
        "/".join(parts[:3])
        for parts in (name.split("/") for name in names())
        if len(parts) > 3 and parts[1] in kinds
    }
    return sorted(found)


@pytest.fixture(scope="module")
def suite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("suite")
    with zipfile.ZipFile(SUITE) as archive:
        archive.extractall(folder)
    return folder


def test_the_suite_is_all_there() -> None:
    """As many cases as were counted in the source; a lost file would hide a case."""
    assert len(cases("valid")) == 27
    assert len(cases("invalid")) == 15
    assert len(cases("linux-only")) == 6
    assert len(cases("warning")) == 6


@pytest.mark.parametrize("case", cases("valid", "warning"))
def test_what_the_suite_takes_we_take_unless_the_table_says_why_not(suite: Path, case: str) -> None:
    """Every version from 0.93 to 1.0."""
    if Path(case).name in STRICTER:
        with pytest.raises(BagRefused, match="Nothing was brought in"):
            check_bag(suite / case, source=Path(case))
    else:
        check_bag(suite / case, source=Path(case))


@pytest.mark.parametrize("case", cases("invalid", "linux-only", "windows-only"))
def test_what_the_suite_refuses_we_refuse_in_one_sentence(suite: Path, case: str) -> None:
    """On every system: a path that is only dangerous on Windows is dangerous here too."""
    with pytest.raises(BagRefused, match=f"{case}.*[Nn]othing was brought in|is not a bag"):
        check_bag(suite / case, source=Path(case))
