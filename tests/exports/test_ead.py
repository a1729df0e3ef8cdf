"""Finding aids: valid, complete, and what they say is what the log says."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from tests.exports.demo import CROSSWALK, demo_entries
from tests.exports.logs import make_log, write
from tests.exports.schemas import find_problems
from voicelog.domain.entry import Access, Entry, Kind, Side, Status
from voicelog.exports.crosswalk import NOWHERE
from voicelog.exports.crosswalk_file import load_crosswalk
from voicelog.exports.wording import format_size, in_number, name_type, say_value
from voicelog.exports.xml_text import xml_id
from voicelog.vocabulary import load_vocabulary

NAMESPACES = {"ead3": "http://ead3.archivists.org/schema/", "ead2002": "urn:isbn:1-931666-22-9"}
Element = etree._Element

FORMATS = pytest.mark.parametrize("format_name", ["ead3", "ead2002"])
TICKET = Entry(
    id="e-1",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    volume_name="the green book",
    leaf="14",
    side=Side.RECTO,
    item=1,
    item_type=("ticket",),
    status=Status.CONFIRMED,
)


def level_file(folder: Path, level: str) -> Path:
    path = folder / f"{level}.toml"
    path.write_text(f'[ead3]\nlevel = "{level}"\n[ead2002]\nlevel = "{level}"\n')
    return path


def export(folder: Path, format_name: str, *entries: Entry, crosswalk: Path) -> Path:
    return write(
        format_name,
        make_log(folder / "log", *entries),
        folder / f"{crosswalk.stem}.{format_name}.xml",
        crosswalk=crosswalk,
    )


def find(path: Path, format_name: str, expression: str) -> list[Element]:
    found = etree.parse(path).xpath(expression, namespaces={"e": NAMESPACES[format_name]})
    return found if isinstance(found, list) else []


def text_of(elements: list[Element]) -> list[str]:
    return ["".join(element.itertext()) for element in elements]


@FORMATS
@pytest.mark.parametrize("level", ["volume", "leaf", "item"])
def test_the_demo_is_valid_at_every_level(tmp_path: Path, format_name: str, level: str) -> None:
    """By the published XSD and by the published RELAX NG."""
    crosswalk = level_file(tmp_path, level)
    path = export(tmp_path, format_name, *demo_entries(), crosswalk=crosswalk)
    assert find_problems(format_name, path) == []
    depth = {"volume": 1, "leaf": 2, "item": 3}[level]
    assert bool(find(path, format_name, "//e:c" + "/e:c" * (depth - 1)))
    assert not find(path, format_name, "//e:c" + "/e:c" * depth)


@FORMATS
def test_a_bad_file_would_be_refused(tmp_path: Path, format_name: str) -> None:
    """So that "valid" means something."""
    path = export(tmp_path, format_name, TICKET, crosswalk=CROSSWALK)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("<unittitle>", "<unknown/><unittitle>", 1), encoding="utf-8")
    assert find_problems(format_name, path) != []


@FORMATS
def test_everything_that_the_crosswalk_carries_is_there(tmp_path: Path, format_name: str) -> None:
    """Field by field, for every entry of the demo, read back with XPath alone."""
    entries = demo_entries()
    path = export(tmp_path, format_name, *entries, crosswalk=CROSSWALK)
    crosswalk, vocabulary = load_crosswalk(CROSSWALK), load_vocabulary()
    siblings = {entry.id: entry for entry in entries}
    compared = 0
    for entry in entries:
        [component] = find(path, format_name, f"//e:c[@id='{xml_id(entry.id)}']")
        for field, place in crosswalk.places[format_name].items():
            if place == NOWHERE or field in {"id", "access", "status"}:
                continue
            say = WORDED.get(field)
            expected = (
                say(entry)
                if say
                else say_value(entry, field, siblings=siblings, vocabulary=vocabulary)
            )
            own = component.xpath(
                f"e:did//e:{place} | e:{place} | e:controlaccess/e:{place}",
                namespaces={"e": NAMESPACES[format_name]},
            )
            together = "\n".join(text_of(own if isinstance(own, list) else []))
            for text in expected:
                assert text in together, (entry.id, field, place, text, together)
                compared += 1
    assert compared > 250


LETTERS = {Side.RECTO: "r", Side.VERSO: "v", None: ""}
# What stands for a field that is no plain sentence.
WORDED: Mapping[str, Callable[[Entry], list[str]]] = {
    "accession": lambda one: [f"{one.accession}/"] if one.kind is Kind.VOLUME else [],
    "volume": lambda one: [f"/{one.volume}"] if one.kind is Kind.VOLUME else [],
    "volume_name": lambda one: [str(one.volume_name)] if one.kind is Kind.VOLUME else [],
    "leaf": lambda one: [f"/{one.leaf}{LETTERS[one.side]}"] if one.leaf else [],
    "side": lambda one: [f"/{one.leaf}{LETTERS[one.side]}"] if one.leaf else [],
    "item": lambda one: [f"/{one.item}"] if one.item else [],
    "item_type": lambda one: list(one.item_type),
    "quantity": lambda one: (
        [str(one.quantity), in_number(name_type(one), one.quantity)]
        if one.kind is Kind.ITEM
        else []
    ),
    "leaves": lambda one: [str(one.leaves), "leaves"] if one.leaves else [],
    "dimensions": lambda one: [format_size(one)] if one.dimensions else [],
    "date": lambda one: [one.date[:4].replace("X", "")] if one.date else [],
    "enclosure": lambda one: [one.enclosure.rpartition(" ")[2]] if one.enclosure else [],
    "blank": lambda one: ["Blank"] if one.blank else [],
    "doubts": lambda one: (
        [] if one.status is Status.CONFIRMED else [doubt.message for doubt in one.doubts]
    ),
}


# EDTF, where in the did of its component, and what stands there.
DATES_IN_EAD3 = (
    ("1952-06-04", "e:unitdatestructured/e:datesingle/@standarddate", "1952-06-04"),
    ("1949/1951", ".//e:daterange/e:todate/@standarddate", "1951"),
    # Above level 0: what the Schematron rule of EAD3 takes, and the EDTF itself in a note.
    ("195X", ".//e:datesingle/@notbefore", "1950"),
    ("195X", ".//e:datesingle/@notafter", "1959"),
    ("195X", "e:didnote[@localtype='edtf']/text()", "195X"),
    ("1955~", "e:unitdatestructured/@certainty", "approximate"),
    ("1955~", ".//e:datesingle/@standarddate", "1955"),
    ("1955~", "e:didnote[@localtype='edtf']/text()", "1955~"),
    ("1972-22", ".//e:datesingle/@notbefore", "1972-06"),
    ("[..1961]", ".//e:datesingle/@notafter", "1961"),
    ("../1961", ".//e:daterange/e:fromdate/text()", "open"),
    ("XXXX-06-04", "e:didnote[@localtype='edtf']/text()", "XXXX-06-04"),
)
# EDTF, @normal and @certainty.
DATES_IN_EAD_2002 = (
    ("1952-06-04", "1952-06-04", None),
    ("1949/1951", "1949/1951", None),
    ("195X", "1950/1959", None),
    ("1955~", "1955", "approximate"),
    ("1972-22", "1972-06/1972-08", None),
    ("[..1961]", None, None),
    ("1952/..", None, None),
)


def dated(edtfs: Iterable[str]) -> list[Entry]:
    return [
        replace(TICKET, id=f"e-{nth}", item=nth, date=edtf) for nth, edtf in enumerate(edtfs, 1)
    ]


def test_dates_in_ead3(tmp_path: Path) -> None:
    """Bounds and certainty, in attributes that hold plain dates only."""
    entries = dated(edtf for edtf, _, _ in DATES_IN_EAD3)
    path = export(tmp_path, "ead3", *entries, crosswalk=level_file(tmp_path, "item"))
    assert find_problems("ead3", path) == []
    dids = find(path, "ead3", "//e:c[@level='item']/e:did")
    for did, (edtf, xpath, expected) in zip(dids, DATES_IN_EAD3, strict=True):
        found = did.xpath(xpath, namespaces={"e": NAMESPACES["ead3"]})
        assert found == [expected], (edtf, xpath)
    plain = re.compile(r"\d{4}(-\d\d(-\d\d)?)?")
    for element in find(path, "ead3", "//e:c//e:*[@standarddate or @notbefore or @notafter]"):
        for name in ("standarddate", "notbefore", "notafter"):
            assert plain.fullmatch(element.get(name, "2000"))


def test_dates_in_ead_2002(tmp_path: Path) -> None:
    """@normal takes level 0 dates and ranges and refuses everything above."""
    entries = dated(edtf for edtf, _, _ in DATES_IN_EAD_2002)
    path = export(tmp_path, "ead2002", *entries, crosswalk=level_file(tmp_path, "item"))
    assert find_problems("ead2002", path) == []
    dates = find(path, "ead2002", "//e:c[@level='item']/e:did/e:unitdate")
    assert [(date.get("normal"), date.get("certainty")) for date in dates] == [
        (normal, certainty) for _, normal, certainty in DATES_IN_EAD_2002
    ]


@FORMATS
def test_what_is_unconfirmed_or_restricted_says_so(tmp_path: Path, format_name: str) -> None:
    """At the item, and at the volume where nothing is said of single items."""
    secret = replace(TICKET, id="e-2", item=2, access=Access.RESTRICTED, status=Status.HEARD)
    for level in ("item", "volume"):
        path = export(tmp_path, format_name, TICKET, secret, crosswalk=level_file(tmp_path, level))
        notes = text_of(find(path, format_name, "//e:c//e:accessrestrict | //e:c//e:processinfo"))
        assert sum("Access restricted" in note for note in notes) == 1
        assert sum("Not yet confirmed by a reviewer." in note for note in notes) == 1
        assert find_problems(format_name, path) == []


@FORMATS
def test_several_accessions_and_none_at_all_are_valid(tmp_path: Path, format_name: str) -> None:
    """An entry whose accession was never said has its place too."""
    other = replace(TICKET, id="e-2", accession=None, volume=None, volume_name=None)
    crosswalk = level_file(tmp_path, "item")
    for entries in ((TICKET, other), ()):
        folder = tmp_path / str(len(entries))
        folder.mkdir()
        path = export(folder, format_name, *entries, crosswalk=crosswalk)
        assert find_problems(format_name, path) == []
        assert len(find(path, format_name, "//e:c[@level='item']")) == len(entries)


@FORMATS
def test_volumes_of_an_accession_stand_together_wherever_the_log_has_them(
    tmp_path: Path, format_name: str
) -> None:
    """Also where two accessions were described in turns."""
    entries = [
        replace(TICKET, id=f"e-{nth}", accession=accession, volume=volume)
        for nth, (accession, volume) in enumerate(
            [("2031-007", "1"), ("2031-008", "1"), ("2031-007", "2"), (None, None)]
        )
    ]
    path = export(tmp_path, format_name, *entries, crosswalk=CROSSWALK)
    assert find_problems(format_name, path) == []
    volumes = [
        text_of(find(path, format_name, f"//e:dsc/e:c[{nth}]/e:c/e:did/e:unitid"))
        for nth in (1, 2, 3)
    ]
    assert volumes == [["2031-007/1", "2031-007/2"], ["2031-008/1"], ["-/-"]]


@FORMATS
def test_characters_that_xml_forbids_are_made_visible(tmp_path: Path, format_name: str) -> None:
    """The file stays readable, and so does the caption."""
    entry = replace(TICKET, caption="admit\x00 one \x1b[31m & <two>\ufffe")
    path = export(tmp_path, format_name, entry, crosswalk=level_file(tmp_path, "item"))
    [note] = text_of(find(path, format_name, "//e:c[@level='item']/e:scopecontent"))
    assert note.strip() == "Inscription: admit␀ one ␛[31m & <two>\N{REPLACEMENT CHARACTER}"
    assert find_problems(format_name, path) == []


class TestSamplesOfTheStandard:
    """Samples of SAA-SDT/EAD3 (samples/ead3 at f069085) rebuilt from equivalent rows."""

    def test_a_scrapbook_in_a_box(self, tmp_path: Path) -> None:
        """UMN/sw0116-ead3.xml: Scrapbooks, circa 1940s-1950s, container localtype box 4."""
        row = Entry(
            id="v",
            kind=Kind.VOLUME,
            accession="SW 116",
            volume="1",
            volume_name="Scrapbooks",
            date="194X/195X",
            enclosure="box 4",
            status=Status.CONFIRMED,
        )
        path = export(tmp_path, "ead3", row, crosswalk=level_file(tmp_path, "volume"))
        assert text_of(find(path, "ead3", "//e:c/e:did/e:unittitle")) == ["Scrapbooks"]
        [container] = find(path, "ead3", "//e:c/e:did/e:container")
        assert (container.get("localtype"), container.text) == ("box", "4")
        ends = find(path, "ead3", "//e:c//e:daterange/*")
        assert text_of(ends) == ["1940s", "1950s"]

    def test_a_scrapbook_in_a_flat_box(self, tmp_path: Path) -> None:
        """NCSU/mc00246.xml: Scrapbook, 1978-1979, container oversizeflatbox 5.157."""
        row = Entry(
            id="v",
            kind=Kind.VOLUME,
            accession="MC 246",
            volume="1",
            volume_name="Scrapbook",
            date="1978/1979",
            enclosure="oversizeflatbox 5.157",
            status=Status.CONFIRMED,
        )
        path = export(tmp_path, "ead3", row, crosswalk=level_file(tmp_path, "volume"))
        [container] = find(path, "ead3", "//e:c/e:did/e:container")
        assert (container.get("localtype"), container.text) == ("oversizeflatbox", "5.157")
        ends = find(path, "ead3", "//e:c//e:daterange/*")
        assert [end.get("standarddate") for end in ends] == ["1978", "1979"]
