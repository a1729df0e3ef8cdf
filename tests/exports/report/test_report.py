"""The report says what the figures are, on a page and on paper, and nothing that it may not."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pypdfium2
import pytest

from tests.exports.report.samples import ENTRIES, VOLUME, material
from voicelog.domain.error_rate import ErrorRate
from voicelog.domain.finding import Finding, Severity
from voicelog.errors import UsageError
from voicelog.exports.report.blocks import Document
from voicelog.exports.report.document import NOT_MEASURED, make_document
from voicelog.exports.report.page import iter_page
from voicelog.exports.report.paper import format_pdf
from voicelog.exports.report.svg import format_svg
from voicelog.exports.report.wording import percent
from voicelog.exports.report.writing import write_report

NASTY = '</title><script>alert("x")</script> & <b>'
MISSING_IMAGE = Finding(
    code="image-missing",
    severity=Severity.ERROR,
    message="Leaf 1 recto has no image.",
    remedy="Image it.",
    volume="1",
    leaf="1",
)


class _Reader(HTMLParser):
    """Collects the tags and the text of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def read_page(document: Document) -> _Reader:
    reader = _Reader()
    reader.feed("".join(iter_page(document)))
    return reader


def read_pdf(document: Document) -> list[str]:
    with pypdfium2.PdfDocument(io.BytesIO(format_pdf(document))) as pdf:
        return [page.get_textpage().get_text_range() for page in pdf]


def test_the_page_needs_nothing_beside_it() -> None:
    """No script, no address, no picture from elsewhere; a policy forbids all of them."""
    reader = read_page(make_document(material()))
    assert {"script", "link", "img", "iframe", "a"}.isdisjoint(tag for tag, _ in reader.tags)
    assert "http" not in re.sub(r"http-equiv", "", "".join(iter_page(make_document(material()))))
    (policy,) = [given["content"] for tag, given in reader.tags if "http-equiv" in given]
    assert policy == "default-src 'none'; style-src 'unsafe-inline'"


def test_no_name_is_taken_for_markup() -> None:
    """A donor's name, the repository's and a term of one's own can be anything."""
    strange = replace(VOLUME, volume_name=NASTY, volume="7", condition=(NASTY,))
    document = make_document(material(strange, repository=NASTY))
    reader = read_page(document)
    assert "script" not in {tag for tag, _ in reader.tags}
    assert f"Volume 7, {NASTY}" in reader.text


def test_every_bar_is_also_a_row_of_a_table() -> None:
    """For whoever can't see the chart, and for copying."""
    reader = read_page(make_document(material()))
    described = [given["aria-label"] or "" for tag, given in reader.tags if tag == "svg"]
    charts = [text for text in described if ": " in text and not text.startswith("Leaf map")]
    assert len(charts) == reader.text.count("The same as a table") == 10
    assert all(described)


def test_nothing_that_was_said_of_a_restricted_item_is_in_the_report() -> None:
    """It is counted, and that is said."""
    document = make_document(material())
    for text in (read_page(document).text, *read_pdf(document)):
        assert "nobody outside may read" not in text
    assert "1 entry with restricted access is counted here and not described." in "".join(
        read_page(document).text
    )


def test_what_was_not_measured_is_said_not_to_be() -> None:
    """Never a nought that looks like a result."""
    text = read_page(make_document(material())).text
    assert f"Closing check: {NOT_MEASURED}" in text
    assert f"This team's error rate is {NOT_MEASURED}" in text
    assert f"Supplies: {NOT_MEASURED}" in text
    assert f"Which volume needs care first: {NOT_MEASURED}" in text


def test_the_error_rate_stands_with_its_interval() -> None:
    """On the first page and in full below; 2 of 100 by Wilson's interval, to one decimal.

    Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine
    17 (1998), gives the formula; the figures are worked out from it by hand.
    """
    rate = ErrorRate(judged=100, wrong=2, waiting=1)
    text = read_page(make_document(material(error_rate=rate))).text
    assert "0.6 to 7.0 % (95 % interval)" in text
    assert "of 100 entries that nobody doubted" in text
    assert "2 were wrong, 2 %" in text
    assert "1 entry of the sample waits to be judged." in text


def test_open_findings_stand_with_what_to_do() -> None:
    """Accepted ones and notices are no longer open."""
    findings = (
        MISSING_IMAGE,
        replace(MISSING_IMAGE, accepted="the page is stuck"),
        replace(MISSING_IMAGE, severity=Severity.NOTICE),
    )
    text = read_page(make_document(material(findings=findings))).text
    assert "The closing check has 1 open finding, 1 of them an error." in text
    assert "1 was accepted with a reason" in text
    assert text.count("Leaf 1 recto has no image.") == 1


def test_a_finding_about_a_restricted_entry_says_only_that_there_is_one() -> None:
    """Its wording may quote what was said."""
    finding = replace(MISSING_IMAGE, message="It reads: a name.", entry="card")
    text = read_page(make_document(material(findings=(finding,)))).text
    assert "It reads" not in text
    assert "It is about an entry with restricted access. See 'voicelog check'." in " ".join(
        text.split("\n")
    ).replace("access.See", "access. See")


def test_the_paper_says_the_same_as_the_page() -> None:
    """The summary is the first sheet and nothing else is on it."""
    document = make_document(material(findings=(MISSING_IMAGE,)))
    first, *others = read_pdf(document)
    assert "Tarn Valley Record Office: report on scrapbooks and albums" in first
    assert "In one page" in first
    assert "What was found" not in first
    rest = "".join(others)
    for section in document.sections[1:]:
        assert section.title in rest
    assert "Leaf 1 recto has no image." in rest


def test_long_volumes_and_long_lists_go_on_on_the_next_sheet() -> None:
    """No table or map runs off the paper, and none is shrunk until nobody can read it."""
    many = [replace(VOLUME, id=str(n), volume=str(n), leaves=200) for n in range(6)]
    findings = (MISSING_IMAGE,) * 60
    pages = read_pdf(make_document(material(*many, findings=findings)))
    text = "".join(pages)
    assert all(f"Volume {n}, the green book" in text for n in range(6))
    assert text.count("Leaf 1 recto has no image.") == 40
    assert "and 20 more; 'voicelog check' has them all." in text
    for page in pages:
        # On every page that a table takes its headings stand above a row.
        assert ("what to do" in page) == ("Leaf 1 recto has no image." in page)


@pytest.mark.parametrize("suffix", [".html", ".pdf"])
def test_the_same_logs_give_the_same_bytes(tmp_path: Path, suffix: str) -> None:
    """The only dates are those of the logs."""
    paths = [tmp_path / f"{name}{suffix}" for name in ("a", "b")]
    for path in paths:
        write_report(make_document(material()), path)
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_a_name_that_says_nothing_about_the_form_is_refused(tmp_path: Path) -> None:
    """Nothing is written."""
    with pytest.raises(UsageError, match=r"ends with neither \.html nor \.pdf"):
        write_report(make_document(material()), tmp_path / "report.docx")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("part", "whole", "said"),
    [(0, 0, "–"), (0, 3, "0 %"), (3, 3, "100 %"), (1, 201, "<1 %"), (200, 201, ">99 %")],
)
def test_a_share_is_never_rounded_to_all_or_nothing(part: int, whole: int, said: str) -> None:
    """One wrong entry in two hundred is not none."""
    assert percent(part, whole) == said


def test_a_drawing_is_described_for_who_cannot_see_it() -> None:
    """The counts stand in its label."""
    document = make_document(material(*ENTRIES))
    pictures = [
        block
        for section in document.sections
        for block in section.blocks
        if hasattr(block, "drawing")
    ]
    labelled = [format_svg(picture.drawing) for picture in pictures]
    assert any('aria-label="Entries by condition: yellowed 3, tear 1"' in svg for svg in labelled)
