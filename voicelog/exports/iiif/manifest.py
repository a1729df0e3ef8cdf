"""A IIIF manifest of one volume: what a viewer needs to leaf through it.

After the IIIF Presentation API 3.0, https://iiif.io/api/presentation/3.0/ (sections named
where they are applied). Made with the models of the iiif-prezi3 package.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from voicelog.checks.volumes import VolumeLog
from voicelog.domain.entry import Entry, Side
from voicelog.domain.place import POCKET, SPINE, Place
from voicelog.exports.iiif.regions import find_position, find_region
from voicelog.exports.iiif.wording import describe_item, describe_side, describe_volume, title_of
from voicelog.exports.sides import list_sides
from voicelog.exports.slugs import make_slug, slugify

if TYPE_CHECKING:
    import iiif_prezi3 as prezi

_LONGER_SIDE_PX = 1_000
"""Of a canvas without an image; a canvas needs a size (section 5.3), any will do."""
_DEFAULT_PROPORTION = 1.25  # height to width, where neither size nor image is known
_LANGUAGE = "en"


@dataclass(frozen=True, slots=True, kw_only=True)
class SideImage:
    """An image of one side, as a viewer will fetch it.

    Attributes:
        name: its file name, or its path below the base address.
        width_px: its width.
        height_px: its height.
        media_type: "image/jpeg", "image/tiff", ...
    """

    name: str
    width_px: int
    height_px: int
    media_type: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ManifestOptions:
    """What the entries don't say.

    Attributes:
        base_url: what every address in the manifest begins with, without a slash at its end.
        repository: the repository's name, or "".
        images: the images of the volume by side; sides without one become placeholders.
    """

    base_url: str
    repository: str = ""
    images: Mapping[Place, SideImage] = field(default_factory=dict)


def make_manifest(volume: VolumeLog, options: ManifestOptions) -> str:
    """Return the manifest of one volume as JSON text.

    Every side is a canvas, in order, also where it has no image; every leaf a range; every
    item an annotation on the canvas of its side, on the part of it that its position names.
    What was taken out of the volume keeps its annotation, with its enclosure and its mark.

    Args:
        volume: its entries that may leave the house.
        options: addresses, names and images.
    """
    import iiif_prezi3 as prezi  # noqa: PLC0415 - takes most of a second; only this format needs it

    return _Maker(prezi, volume, options).make()


def make_collection(volumes: Iterable[VolumeLog], options: ManifestOptions) -> str:
    """Return a collection that points at the manifest of each volume, as JSON text."""
    import iiif_prezi3 as prezi  # noqa: PLC0415 - as above

    base = options.base_url.rstrip("/")
    collection = prezi.Collection(
        id=f"{base}/collection.json",
        label=_text(options.repository or "Volumes"),
        items=[
            prezi.ManifestRef(
                id=f"{base}/{slug_of(volume)}/manifest.json",
                type="Manifest",
                label=_text(title_of(volume.entries[0])),
            )
            for volume in volumes
        ],
    )
    return f"{collection.json(ensure_ascii=False)}\n"


def slug_of(volume: VolumeLog) -> str:
    """Return what stands for a volume in addresses and file names."""
    return make_slug(volume.key.accession, volume.key.volume)


class _Maker:
    """One manifest in the making."""

    def __init__(self, prezi_: Any, volume: VolumeLog, options: ManifestOptions) -> None:
        self._prezi: Any = prezi_
        self._options = options
        self._volume = volume
        self._by_id = {entry.id: entry for entry in volume.entries}
        self._base = f"{options.base_url.rstrip('/')}/{slug_of(volume)}"
        self._sides = list_sides(volume)

    def make(self) -> str:
        volume = self._volume
        manifest = self._prezi.Manifest(
            id=f"{self._base}/manifest.json",
            label=_text(title_of(volume.entry or volume.entries[0])),
            metadata=self._pairs(describe_volume(volume.entry, self._options.repository)) or None,
            # Section 3.4: paged resources are shown as openings, the first canvas alone.
            behavior=["paged"],
            viewingDirection="left-to-right",
            items=[self._canvas(place) for place in self._sides],
            structures=self._structures(),
        )
        return f"{manifest.json(ensure_ascii=False, indent=None)}\n"

    # Canvases --------------------------------------------------------------------------

    def _canvas(self, place: Place) -> prezi.Canvas:
        image = self._options.images.get(place)
        width, height = self._size_px(image)
        canvas = self._prezi.Canvas(
            id=self._canvas_id(place),
            label=_text(describe_side(place)),
            width=width,
            height=height,
            items=[self._painting(place, image)] if image else [],
        )
        if image is None:
            canvas.summary = _text("No image of this side.")
        if place.is_insert or place.leaf in {SPINE, POCKET}:
            # Not a side of any opening.
            canvas.behavior = ["non-paged"]
        notes = [
            self._annotation(entry, place, width=width, height=height)
            for entry in self._entries_at(place)
        ]
        if notes:
            page = self._prezi.AnnotationPage(id=f"{self._canvas_id(place)}/items", items=notes)
            canvas.annotations = [page]
        return canvas

    def _entries_at(self, place: Place) -> Iterator[Entry]:
        for entry in self._volume.at(place):
            # What is said of a leaf as a whole is told once, on its recto.
            if entry.side is place.side or place.side is Side.RECTO:
                yield entry

    def _painting(self, place: Place, image: SideImage) -> prezi.AnnotationPage:
        canvas = self._canvas_id(place)
        body = self._prezi.AnnotationBody(
            id=f"{self._base}/images/{quote(image.name)}",
            type="Image",
            format=image.media_type,
            width=image.width_px,
            height=image.height_px,
        )
        painting = self._prezi.Annotation(
            id=f"{canvas}/image", motivation="painting", body=body, target=canvas
        )
        return self._prezi.AnnotationPage(id=f"{canvas}/images", items=[painting])

    def _annotation(
        self, entry: Entry, place: Place, *, width: int, height: int
    ) -> prezi.Annotation:
        return self._prezi.Annotation(
            id=f"{self._base}/item/{entry.id}",
            motivation="describing",
            body=self._prezi.TextualBody(
                value=describe_item(entry, self._by_id), language=_LANGUAGE, format="text/plain"
            ),
            target=self._target(entry, place, width=width, height=height),
        )

    def _target(self, entry: Entry, place: Place, *, width: int, height: int) -> str:
        canvas = self._canvas_id(place)
        position = find_position(entry, self._by_id)
        region = find_region(position, width=width, height=height) if position else None
        if region is None:
            return canvas
        # A media fragment, https://www.w3.org/TR/media-frags/#naming-space
        return f"{canvas}#xywh={region.x},{region.y},{region.width},{region.height}"

    def _size_px(self, image: SideImage | None) -> tuple[int, int]:
        if image is not None:
            return image.width_px, image.height_px
        size = self._volume.entry.dimensions if self._volume.entry is not None else None
        proportion = size[0] / size[1] if size and size[0] > 0 < size[1] else _DEFAULT_PROPORTION
        if proportion >= 1:
            return max(1, round(_LONGER_SIDE_PX / proportion)), _LONGER_SIDE_PX
        return _LONGER_SIDE_PX, max(1, round(_LONGER_SIDE_PX * proportion))

    # Ranges ----------------------------------------------------------------------------

    def _structures(self) -> list[prezi.Range]:
        leaves: dict[str, list[Place]] = {}
        for place in self._sides:
            leaves.setdefault(place.leaf, []).append(place)
        ranges = [
            self._prezi.Range(
                id=f"{self._base}/range/{slugify(leaf)}",
                label=_text(describe_side(Place(leaf=leaf))),
                items=[self._canvas_ref(place) for place in places],
            )
            for leaf, places in leaves.items()
        ]
        structures = [
            self._prezi.Range(id=f"{self._base}/range", label=_text("Leaves"), items=ranges)
        ]
        if removed := list(self._removed()):
            taken_out = self._prezi.Range(
                id=f"{self._base}/taken-out", label=_text("Taken out"), items=removed
            )
            structures.append(taken_out)
        return structures

    def _removed(self) -> Iterator[prezi.Range]:
        for entry in self._volume.items:
            place = self._canvas_of(entry)
            if entry.enclosure is None or place is None:
                continue
            width, height = self._size_px(self._options.images.get(place))
            what = ", ".join(entry.item_type) or "item"
            target = self._target(entry, place, width=width, height=height)
            yield self._prezi.Range(
                id=f"{self._base}/taken-out/{entry.id}",
                label=_text(f"{entry.enclosure}: {what}, {describe_side(place).lower()}"),
                items=[self._prezi.CanvasRef(id=target, type="Canvas")],
            )

    def _canvas_of(self, entry: Entry) -> Place | None:
        if entry.leaf is None:
            return None
        place = Place(leaf=entry.leaf, side=entry.side)
        if place in self._sides:
            return place
        return next((side for side in self._sides if side.leaf == entry.leaf), None)

    # Addresses and texts ---------------------------------------------------------------

    def _canvas_ref(self, place: Place) -> prezi.CanvasRef:
        return self._prezi.CanvasRef(id=self._canvas_id(place), type="Canvas")

    def _canvas_id(self, place: Place) -> str:
        label = slugify(place.leaf if place.side is None else f"{place.leaf} {place.side}")
        return f"{self._base}/canvas/{label}"

    def _pairs(self, pairs: Iterable[tuple[str, str]]) -> list[prezi.KeyValueString]:
        return [
            self._prezi.KeyValueString(label=_text(label), value=_text(value))
            for label, value in pairs
        ]


def _text(text: str) -> dict[str, list[str]]:
    return {_LANGUAGE: [text]}
