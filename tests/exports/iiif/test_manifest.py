"""A manifest shows the volume as the log describes it."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import iiif_prezi3
import jsonschema
import pytest

from voicelog.checks.volumes import VolumeLog, group_volumes
from voicelog.domain.entry import Adhesion, Entry, Kind, Relation, RelationKind, Side, Status
from voicelog.domain.place import Place
from voicelog.exports.iiif.manifest import ManifestOptions, SideImage, make_manifest
from voicelog.exports.slugs import make_slug

BASE = "https://images.tarnvalley.invalid/iiif"
HERE = f"{BASE}/2031-007-volume-1"
VOLUME = Entry(
    id="volume",
    kind=Kind.VOLUME,
    accession="2031-007",
    volume="1",
    volume_name="the green book",
    binding="post binding",
    support="black paper",
    dimensions=(300.0, 400.0),
    leaves=2,
    status=Status.CONFIRMED,
)
BLANK = replace(VOLUME, id="blank", kind=Kind.LEAF, leaf="2", blank=True, dimensions=None)
TICKET = replace(
    VOLUME,
    id="ticket",
    kind=Kind.ITEM,
    leaf="1",
    side=Side.RECTO,
    item=1,
    item_type=("ticket",),
    dimensions=(54.0, 86.0),
    attachment=("photo corners",),
    adhesion=Adhesion.LOOSE,
    action=("detached", "enclosed"),
    enclosure="envelope 7",
    mark="2031-007 vol. 1, 1r, 1",
    caption='admit one & "two" <children>',
    position="upper left",
)
LETTER = replace(
    TICKET,
    id="letter",
    item=2,
    item_type=("letter",),
    enclosure=None,
    mark=None,
    caption=None,
    position=None,
    relations=(Relation(kind=RelationKind.UNDER, id="ticket"),),
)
LOG = (VOLUME, TICKET, LETTER, BLANK)
SCHEMA_NAME = "schemas/iiif/iiif_3_0.json"


def volume(*entries: Entry) -> VolumeLog:
    (made,) = group_volumes(entries)
    return made


def manifest(*entries: Entry, **options: Any) -> dict[str, Any]:
    made = make_manifest(volume(*entries), ManifestOptions(base_url=BASE, **options))
    return dict(json.loads(made))


def annotations(made: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {
        one["id"].rsplit("/", 1)[-1]: one
        for canvas in made["items"]
        for page in canvas.get("annotations", ())
        for one in page["items"]
    }


def labels(resources: list[dict[str, Any]]) -> list[str]:
    return [one["label"]["en"][0] for one in resources]


def test_every_side_is_a_canvas_in_order_also_where_nothing_was_logged() -> None:
    """Nobody may later wonder whether a page was skipped."""
    assert labels(manifest(*LOG)["items"]) == [
        "Front cover",
        "Inside front cover",
        "Leaf 1 recto",
        "Leaf 1 verso",
        "Leaf 2 recto",
        "Leaf 2 verso",
        "Inside back cover",
        "Back cover",
    ]


def test_a_side_without_an_image_is_a_placeholder_of_the_volumes_proportions() -> None:
    """A canvas with nothing painted on it; it says so."""
    canvas = manifest(*LOG)["items"][2]
    assert canvas["items"] == []
    assert canvas["summary"]["en"] == ["No image of this side."]
    assert canvas["height"] / canvas["width"] == pytest.approx(300 / 400, rel=0.01)


def test_an_image_is_painted_on_its_side_and_gives_the_canvas_its_size() -> None:
    """Linked without a service, below the base address; odd names are quoted."""
    image = SideImage(
        name="green book/001 r.jpg", width_px=900, height_px=600, media_type="image/jpeg"
    )
    made = manifest(*LOG, images={Place(leaf="1", side=Side.RECTO): image})
    canvas = made["items"][2]
    painting = canvas["items"][0]["items"][0]
    assert (canvas["width"], canvas["height"]) == (900, 600)
    assert painting["body"]["id"] == f"{HERE}/images/green%20book/001%20r.jpg"
    assert painting["body"]["format"] == "image/jpeg"
    assert painting["target"] == canvas["id"]
    assert "service" not in painting["body"]


@pytest.mark.parametrize(
    ("position", "region"),
    [
        ("upper left", "0,0,300,200"),
        ("upper centre", "300,0,300,200"),
        ("upper right", "600,0,300,200"),
        ("centre left", "0,200,300,200"),
        ("centre", "300,200,300,200"),
        ("centre right", "600,200,300,200"),
        ("lower left", "0,400,300,200"),
        ("lower centre", "300,400,300,200"),
        ("lower right", "600,400,300,200"),
        ("overlapping", None),
        (None, None),
    ],
)
def test_an_item_is_noted_on_the_part_of_the_side_where_it_lies(
    position: str | None, region: str | None
) -> None:
    """Nine fields; without a position it is noted on the whole side."""
    image = SideImage(name="1r.jpg", width_px=900, height_px=600, media_type="image/jpeg")
    made = manifest(
        replace(TICKET, position=position), images={Place(leaf="1", side=Side.RECTO): image}
    )
    canvas = f"{HERE}/canvas/1-recto"
    wanted = canvas if region is None else f"{canvas}#xywh={region}"
    assert annotations(made)["ticket"]["target"] == wanted


def test_an_item_under_another_is_noted_where_that_one_lies() -> None:
    """It has no position of its own; a ring of such relations ends somewhere."""
    made = annotations(manifest(*LOG))
    assert made["letter"]["target"] == made["ticket"]["target"]
    assert "Under the ticket (item 1)." in made["letter"]["body"]["value"]
    ring = replace(TICKET, position=None, relations=LETTER.relations)
    assert "#" not in annotations(manifest(ring))["ticket"]["target"]


def test_a_note_tells_all_that_a_reader_of_images_needs() -> None:
    """In plain text, so that no caption is taken for markup."""
    body = annotations(manifest(*LOG))["ticket"]["body"]
    assert body["format"] == "text/plain"
    assert body["value"] == (
        "Ticket (item 1 on this side). Held by: photo corners, loose. "
        'Written on it: “admit one & "two" <children>”. Size: 54 × 86 mm, height by width. '
        "Done: detached, enclosed. Now in envelope 7. Marked: 2031-007 vol. 1, 1r, 1."
    )


def test_what_was_taken_out_is_listed_with_its_enclosure_and_points_at_its_place() -> None:
    """The link from an envelope back to the page."""
    _, taken_out = manifest(*LOG)["structures"]
    assert labels(taken_out["items"]) == ["envelope 7: ticket, leaf 1 recto"]
    (pointer,) = taken_out["items"][0]["items"]
    assert pointer["id"].startswith(f"{HERE}/canvas/1-recto#xywh=0,0,")


def test_every_leaf_is_a_range_of_its_sides() -> None:
    """All canvases are in it, each once."""
    made = manifest(*LOG)
    leaves = made["structures"][0]
    assert labels(leaves["items"])[2:4] == ["Leaf 1", "Leaf 2"]
    listed = [one["id"] for leaf in leaves["items"] for one in leaf["items"]]
    assert listed == [canvas["id"] for canvas in made["items"]]


def test_what_is_said_of_a_whole_leaf_stands_on_its_recto() -> None:
    """Once, not on both sides."""
    note = annotations(manifest(*LOG))["blank"]
    assert note["target"] == f"{HERE}/canvas/2-recto"
    assert note["body"]["value"] == "Blank on both sides."


def test_what_nobody_confirmed_says_so() -> None:
    """Items and the volume itself."""
    heard = manifest(*(replace(entry, status=Status.HEARD) for entry in LOG))
    assert annotations(heard)["ticket"]["body"]["value"].endswith("Not confirmed.")
    assert {"label": {"en": ["Status"]}, "value": {"en": ["not confirmed"]}} in heard["metadata"]
    assert "confirmed" not in json.dumps(manifest(*LOG))


@pytest.mark.parametrize("leaf", ["between 1 and 2", "spine", "pocket"])
def test_what_is_no_side_of_an_opening_does_not_shift_the_openings(leaf: str) -> None:
    """Presentation 3.0, "behavior": non-paged canvases stand beside the openings."""
    made = manifest(VOLUME, replace(TICKET, leaf=leaf, side=None))
    (aside,) = [canvas for canvas in made["items"] if canvas.get("behavior") == ["non-paged"]]
    assert aside["label"]["en"][0].lower().startswith(leaf[:5])
    assert made["behavior"] == ["paged"]


def test_a_volume_without_an_entry_of_its_own_still_has_a_manifest() -> None:
    """The volume's entry may be restricted or not confirmed yet."""
    made = manifest(TICKET)
    assert made["label"]["en"] == ["The green book (2031-007, volume 1)"]
    assert made["id"] == f"{BASE}/2031-007-volume-1/manifest.json"


def test_the_same_entries_give_the_same_bytes() -> None:
    """Whenever and wherever it is made."""
    options = ManifestOptions(base_url=BASE)
    assert make_manifest(volume(*LOG), options) == make_manifest(volume(*LOG), options)


@pytest.mark.parametrize(
    ("accession", "volume", "slug"),
    [
        ("2031-007", "1", "2031-007-volume-1"),
        ("../../etc", "a/b", "etc-volume-a-b"),
        (None, None, "volume"),
        ("", "\u202e", "volume"),
    ],
)
def test_addresses_hold_nothing_but_letters_digits_and_hyphens(
    accession: str | None, volume: str | None, slug: str
) -> None:
    """Whatever an accession number or a donor's name is made of."""
    assert make_slug(accession, volume) == slug


class TestOtherPeoplesReaders:
    """What others wrote takes what we write."""

    def test_the_models_of_iiif_prezi3_read_it_back_unchanged(self) -> None:
        """iiif-prezi3 (Apache-2.0): pydantic models of Presentation 3.0."""
        text = make_manifest(volume(*LOG), ManifestOptions(base_url=BASE, repository="Tarn Valley"))
        written = json.loads(text)
        read = json.loads(iiif_prezi3.Manifest.model_validate(written).json())
        # The models take a range's pointer to a canvas for a canvas with nothing in it.
        assert labels(read.pop("structures")) == labels(written.pop("structures"))
        assert read == written

    def test_it_is_valid_by_the_published_json_schema(self, iiif_schema: dict[str, Any]) -> None:
        """The schema of IIIF's own validator, stricter than the models."""
        image = SideImage(name="1r.jpg", width_px=900, height_px=600, media_type="image/jpeg")
        for entries in (LOG, (TICKET,), (VOLUME,)):
            made = manifest(*entries, images={Place(leaf="1", side=Side.RECTO): image})
            jsonschema.Draft7Validator(iiif_schema).validate(made)

    def test_the_schema_can_say_no(self, iiif_schema: dict[str, Any]) -> None:
        """A label that is a plain string, as Presentation 2 had it, is refused."""
        made = manifest(*LOG) | {"label": "The green book"}
        assert list(jsonschema.Draft7Validator(iiif_schema).iter_errors(made))


@pytest.fixture
def iiif_schema() -> dict[str, Any]:
    """The published schema; its licence is unstated, so it is used where it lies."""
    places = [folder / "shared" / "standards" for folder in Path(__file__).resolve().parents]
    found = next((one / SCHEMA_NAME for one in places if (one / SCHEMA_NAME).is_file()), None)
    if found is None:
        pytest.skip(
            "the published schema is not beside the checkout (shared/standards/schemas/iiif); "
            "its licence is unstated, so the repository holds no copy"
        )
    return dict(json.loads(found.read_text(encoding="utf-8")))
