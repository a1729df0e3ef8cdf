"""MODS and Dublin Core: one record for each item, valid, with nothing lost on the way."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from lxml import etree

from tests.exports.demo import CROSSWALK, demo_entries
from tests.exports.logs import make_log, write
from tests.exports.schemas import find_problems
from voicelog.domain.entry import Access, Entry, Kind, Relation, RelationKind, Side, Status
from voicelog.exports.xml_text import xml_id

NAMESPACES = {"m": "http://www.loc.gov/mods/v3", "dc": "http://purl.org/dc/elements/1.1/"}
POSTCARD = Entry(
    id="i-1",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    volume_name="the green book",
    leaf="14",
    side=Side.RECTO,
    item=2,
    item_type=("postcard",),
    quantity=3,
    attachment=("photo corners", "paste"),
    adhesion="partly loose",  # type: ignore[arg-type]
    condition=("yellowed", "crease"),
    action=("detached", "enclosed"),
    enclosure="envelope 7",
    caption="Wish you were here",
    date="1955~",
    dimensions=(88.9, 139.7),
    position="upper left",
    images=(27, 28),
    mark="2031-007 vol. 1, 14r, 2",
    relations=(Relation(kind=RelationKind.BEHIND, id="i-2"),),
    cautions=("mould",),
    remark="ends of the tape are gone",
    recorded_at="2031-05-01T10:00:00+01:00",
    handler="Ada Fenn",
    status=Status.CONFIRMED,
)
TICKET = replace(POSTCARD, id="i-2", item=3, relations=())


def export_mods(folder: Path, *entries: Entry, crosswalk: Path = CROSSWALK) -> etree._Element:
    path = write(
        "mods", make_log(folder / "log", *entries), folder / "mods.xml", crosswalk=crosswalk
    )
    assert find_problems("mods", path) == []
    return etree.parse(path).getroot()


def texts(element: etree._Element, expression: str) -> list[str]:
    found = element.xpath(expression, namespaces=NAMESPACES)
    assert isinstance(found, list)
    return [one if isinstance(one, str) else "".join(one.itertext()) for one in found]


def test_every_item_of_the_demo_is_a_valid_mods_record(tmp_path: Path) -> None:
    """Volumes and leaves are no items, and are not counted."""
    root = export_mods(tmp_path, *demo_entries())
    items = [entry for entry in demo_entries() if entry.kind is Kind.ITEM]
    found = texts(root, "m:mods/m:identifier[@type='local']")
    assert sorted(found) == sorted(item.id for item in items)


PLACES_IN_MODS = (
    ("m:genre", ["postcard"]),
    ("m:genre/@valueURI", ["http://vocab.getty.edu/aat/300026816"]),
    ("m:originInfo/m:dateCreated[@encoding='edtf']", ["1955~"]),
    ("m:originInfo/m:dateCreated/@qualifier", ["approximate"]),
    ("m:physicalDescription/m:extent", ["3 postcards", "88.9 x 139.7"]),
    ("m:physicalDescription/m:extent/@unit", ["mm"]),
    ("m:physicalDescription/m:note[@type='attachment']", ["photo corners; paste"]),
    ("m:physicalDescription/m:note[@type='adhesion']", ["partly loose"]),
    ("m:physicalDescription/m:note[@type='condition']", ["yellowed; crease"]),
    ("m:note[@type='action']", ["detached; enclosed"]),
    ("m:note[@type='inscription']", ["Wish you were here"]),
    ("m:note[@type='position']", ["upper left"]),
    ("m:note[@type='images']", ["27, 28"]),
    ("m:note[@type='mark']", ["2031-007 vol. 1, 14r, 2"]),
    ("m:note[@type='relations']", ["behind leaf 14 recto, item 3 [entry-i-2]"]),
    ("m:note[not(@type)]", ["ends of the tape are gone"]),
    ("m:relatedItem[@type='host']/m:titleInfo/m:title", ["the green book"]),
    ("m:relatedItem/m:identifier[@type='accession number']", ["2031-007"]),
    ("m:relatedItem/m:part/m:detail/m:number", ["1", "14", "recto", "2"]),
    ("m:location/m:shelfLocator", ["envelope 7"]),
    ("m:location/m:physicalLocation", ["Tarn Valley Record Office"]),
    ("m:recordInfo/m:recordCreationDate", ["2031-05-01T10:00:00+01:00"]),
    ("m:recordInfo/m:recordInfoNote[@type]", []),
)


def test_each_field_has_its_place_in_mods(tmp_path: Path) -> None:
    """As the crosswalk says."""
    record = export_mods(tmp_path, POSTCARD, TICKET)[0]
    for expression, expected in PLACES_IN_MODS:
        assert texts(record, expression) == expected, expression


def test_a_caution_is_told_with_its_closing_words(tmp_path: Path) -> None:
    """Whoever opens the record defers to local policy and licensed practice."""
    [note] = texts(export_mods(tmp_path, POSTCARD)[0], "m:note[@type='cautions']")
    assert note.startswith("Mould.")
    assert note.endswith("licensed professional decides.")


def export_dc(folder: Path, *entries: Entry, crosswalk: Path = CROSSWALK) -> list[Path]:
    target = write("dc", make_log(folder / "log", *entries), folder / "dc", crosswalk=crosswalk)
    return sorted(target.iterdir())


def test_every_item_of_the_demo_is_a_dublin_core_file(tmp_path: Path) -> None:
    """Named for its id, valid by the published container schema."""
    files = export_dc(tmp_path, *demo_entries())
    items = [entry for entry in demo_entries() if entry.kind is Kind.ITEM]
    assert {file.stem for file in files} == {xml_id(item.id) for item in items}
    for file in files:
        assert find_problems("dc", file) == []


def test_each_field_has_its_element_in_dublin_core(tmp_path: Path) -> None:
    """As the crosswalk says; elements in the order of the element set."""
    file, _ = export_dc(tmp_path, POSTCARD, TICKET)
    root = etree.parse(file).getroot()
    assert [(one.tag.rpartition("}")[2], one.text) for one in root] == [
        ("title", "Wish you were here"),
        ("description", "Attachment: photo corners; paste"),
        ("description", "Adhesion: partly loose"),
        ("description", "Condition: yellowed; crease"),
        ("description", "Action: detached; enclosed"),
        ("description", "Position: upper left"),
        ("description", "Images: 27, 28"),
        ("description", "Enclosure: envelope 7"),
        ("description", "Remark: ends of the tape are gone"),
        ("publisher", "Tarn Valley Record Office"),
        ("date", "1955~"),
        ("type", "postcard"),
        ("format", "3 postcards"),
        ("format", "88.9 x 139.7 mm"),
        ("identifier", "i-1"),
        ("identifier", "2031-007 vol. 1, 14r, 2"),
        ("source", "2031-007, volume 1, the green book, leaf 14 recto, item 2"),
        ("relation", "behind leaf 14 recto, item 3 [entry-i-2]"),
        ("rights", "Copies for private study; ask the record office before publishing."),
    ]


def test_the_crosswalk_moves_and_silences_fields(tmp_path: Path) -> None:
    """Fields that say where an item is stay together in whatever element they share."""
    crosswalk = tmp_path / "own.toml"
    crosswalk.write_text(
        '[dc.fields]\nleaf = "coverage"\nside = "coverage"\nitem = "coverage"\nremark = "none"\n'
        '[mods.fields]\nremark = "none"\ncaption = "physicalDescription"\n'
    )
    [file] = export_dc(tmp_path, replace(POSTCARD, relations=()), crosswalk=crosswalk)
    root = etree.parse(file).getroot()
    assert texts(root, "dc:coverage") == ["leaf 14 recto, item 2"]
    assert texts(root, "dc:source") == ["2031-007, volume 1, the green book"]
    assert "ends of the tape" not in file.read_text(encoding="utf-8")
    record = export_mods(tmp_path, POSTCARD, crosswalk=crosswalk)[0]
    assert texts(record, "m:note[not(@type)]") == []
    assert texts(record, "m:physicalDescription/m:note[@type='inscription']") != []


def test_what_is_unconfirmed_or_restricted_says_so(tmp_path: Path) -> None:
    """In both formats."""
    secret = replace(TICKET, access=Access.RESTRICTED, status=Status.HEARD)
    record = export_mods(tmp_path, secret)[0]
    assert (
        "Access restricted" in texts(record, "m:accessCondition[@type='restriction on access']")[0]
    )
    assert texts(record, "m:recordInfo/m:recordInfoNote[@type='status']") == [
        "Not yet confirmed by a reviewer."
    ]
    [file] = export_dc(tmp_path, secret)
    root = etree.parse(file).getroot()
    assert texts(root, "dc:rights")[0].startswith("Access restricted")
    assert "Not yet confirmed by a reviewer." in texts(root, "dc:description")


def test_characters_that_xml_forbids_are_made_visible(tmp_path: Path) -> None:
    """In both formats."""
    odd = replace(TICKET, caption="a\x00b\x1b & <c>")
    [note] = texts(export_mods(tmp_path, odd)[0], "m:note[@type='inscription']")
    assert note == "a␀b␛ & <c>"
    [file] = export_dc(tmp_path, odd)
    assert texts(etree.parse(file).getroot(), "dc:title") == ["a␀b␛ & <c>"]
