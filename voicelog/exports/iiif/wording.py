"""What a viewer shows beside the images, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from voicelog.domain.entry import Entry, Kind, Status
from voicelog.domain.place import Place


def title_of(entry: Entry) -> str:
    """Return the title of a volume: the donor's name for it, its number, its accession.

    >>> title_of(Entry(id="x", kind=Kind.VOLUME, accession="2031-007", volume="1",
    ...                volume_name="the green book"))
    'The green book (2031-007, volume 1)'
    """
    number = f"volume {entry.volume}" if entry.volume else None
    if entry.volume_name and _short(entry.volume_name) == entry.volume:
        number = None
    inside = ", ".join(filter(None, (entry.accession, number)))
    if not entry.volume_name:
        return _capital(inside) or "Volume"
    return _capital(entry.volume_name) + (f" ({inside})" if inside else "")


def describe_side(place: Place) -> str:
    """Return a side's name as it stands under its picture.

    >>> from voicelog.domain.entry import Side
    >>> describe_side(Place(leaf="14", side=Side.RECTO)), describe_side(Place(leaf="front cover"))
    ('Leaf 14 recto', 'Front cover')
    >>> describe_side(Place(leaf="between 12 and 13"))
    'Between leaves 12 and 13'
    """
    leaf = f"leaf {place.leaf}" if place.leaf[:1].isdecimal() else place.leaf
    if place.is_insert:
        leaf = leaf.replace("between ", "between leaves ", 1)
    return _capital(f"{leaf} {place.side}" if place.side else leaf)


def describe_volume(volume: Entry | None, repository: str) -> Iterator[tuple[str, str]]:
    """Yield what is known about a volume, as pairs of a label and a value."""
    if repository:
        yield "Repository", repository
    if volume is None:
        return
    size = volume.dimensions and f"{volume.dimensions[0]:g} × {volume.dimensions[1]:g} mm"
    pairs = (
        ("Accession", volume.accession),
        ("Volume", volume.volume),
        ("Donor's name", volume.volume_name),
        ("Date", volume.date),
        ("Binding", volume.binding),
        ("Leaves of", volume.support),
        ("Overlay", volume.overlay),
        ("Size, height by width", size),
        ("Number of leaves", None if volume.leaves is None else str(volume.leaves)),
        ("Condition", "; ".join(volume.condition)),
        ("Housing", volume.enclosure),
    )
    for label, value in pairs:
        if value:
            yield label, value
    if volume.status is not Status.CONFIRMED:
        yield "Status", "not confirmed"


def describe_item(entry: Entry, others: Mapping[str, Entry]) -> str:
    """Return everything about an item, or a side as a whole, that a reader of images needs.

    Args:
        entry: the item, or the leaf entry.
        others: the entries of the volume by id, for what relations point at.
    """
    return " ".join(f"{sentence}." for sentence in _sentences(entry, others))


def _sentences(entry: Entry, others: Mapping[str, Entry]) -> Iterator[str]:
    yield _opening(entry)
    yield from _state(entry)
    for relation in entry.relations:
        if (other := others.get(relation.id)) is not None:
            yield f"{_capital(str(relation.kind))} {_name_of(other)}"
    yield from _treatment(entry)
    if entry.images:
        yield f"Image numbers: {', '.join(str(number) for number in entry.images)}"
    if entry.remark:
        yield f"Remark: {entry.remark}"
    if entry.status is not Status.CONFIRMED:
        yield "Not confirmed"


def _state(entry: Entry) -> Iterator[str]:
    if entry.attachment or entry.adhesion:
        held = ", ".join((*entry.attachment, *filter(None, (entry.adhesion,))))
        yield f"Held by: {held}"
    if entry.condition:
        yield f"Condition: {', '.join(entry.condition)}"
    if entry.caption:
        yield f"Written on it: “{entry.caption}”"
    if entry.dimensions:
        yield f"Size: {entry.dimensions[0]:g} × {entry.dimensions[1]:g} mm, height by width"


def _treatment(entry: Entry) -> Iterator[str]:
    if entry.action:
        yield f"Done: {', '.join(entry.action)}"
    if entry.enclosure:
        yield f"Now in {entry.enclosure}"
    if entry.mark:
        yield f"Marked: {entry.mark}"


def _opening(entry: Entry) -> str:
    dated = f", {entry.date}" if entry.date else ""
    if entry.kind is not Kind.ITEM:
        is_whole_leaf = entry.side is None and Place(leaf=entry.leaf or "").has_sides
        where = "This leaf" if is_whole_leaf else "This side"
        blank = "Blank on both sides" if is_whole_leaf else "Blank"
        return (blank if entry.blank else f"{where} as a whole") + dated
    what = _capital(", ".join(entry.item_type) or "item")
    number = f" (item {entry.item} on this side)" if entry.item else ""
    pieces = f", {entry.quantity} pieces" if entry.quantity > 1 else ""
    return f"{what}{pieces}{dated}{number}"


def _name_of(entry: Entry) -> str:
    what = ", ".join(entry.item_type) or "item"
    return f"the {what}" + (f" (item {entry.item})" if entry.item else "")


def _short(name: str) -> str:
    return name[4:] if name.lower().startswith("the ") else name


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
