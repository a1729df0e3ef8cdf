"""What stands on labels: the words, before anybody thinks of paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voicelog.domain.entry import Access, Entry
from voicelog.domain.mark import format_mark
from voicelog.domain.place import Place
from voicelog.extraction.logbook.finishing import cautions_of
from voicelog.housing.grouping import FolderNeed
from voicelog.housing.openings import format_place
from voicelog.housing.plan import FilledBox, VolumePlan
from voicelog.housing.volumes import HousedVolume, Numbered, enclosure_order
from voicelog.vocabulary.concepts import Vocabulary

NEVER_ON_THE_ITEM = "For the enclosure, before the item goes in. Never on the item."
NO_NUMBER = "envelope ______"


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """One label for an envelope, a folder, or another enclosure of items.

    Attributes:
        code: the stable identifier that the bar code holds.
        heading: what the label is for: "envelope 7".
        mark: exactly what is written on the items, or "" where nothing is known to write.
        volume: accession and the volume as the donor calls it.
        place: leaf, side and order of the items.
        what: their types, how many, and dates.
        caption: what is written on them, in full; "" where nothing is or it is withheld.
        cautions: the ids of the cautions that apply to them.
        note: what the label is for, in small letters; "" for none.
        entries: the display numbers of the entries.
    """

    code: str
    heading: str
    mark: str
    volume: str
    place: str
    what: str
    caption: str
    cautions: tuple[str, ...]
    note: str
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxLabel:
    """The label of one box, for the edge that faces out and for the lid.

    Attributes:
        code: the stable identifier that the bar code holds.
        heading: "box 1", or what stands for it.
        accession: the accession number, or "".
        volume: the volume as the donor calls it.
        contents: what is in the box.
        weight_kg: about what it weighs.
        cautions: the ids of the cautions that apply, each once.
        edge_mm: height of the edge that faces out.
    """

    code: str
    heading: str
    accession: str
    volume: str
    contents: str
    weight_kg: float
    cautions: tuple[str, ...]
    edge_mm: float


def name_volume(volume: HousedVolume) -> str:
    """Return accession and title, as labels and headings have them."""
    return " · ".join(filter(None, (volume.accession, volume.title)))


def make_labels(
    plans: Sequence[VolumePlan], vocabulary: Vocabulary, *, only: frozenset[int] | None = None
) -> tuple[Label, ...]:
    """Return the labels of all enclosures of these volumes, then those of their folders.

    Args:
        plans: the volumes.
        vocabulary: knows which terms call for a caution.
        only: the entries that labels are wanted for, or None for all; with a choice of
            entries there are no folder labels.
    """
    labels: list[Label] = []
    for plan in plans:
        enclosures: list[tuple[str, tuple[Numbered, ...]]] = [
            (need.label or NO_NUMBER, need.rows) for need in plan.envelopes
        ]
        enclosures += plan.other_enclosures
        enclosures.sort(key=lambda each: each[1][0][0])
        for label, rows in enclosures:
            if only is None or only & {number for number, _ in rows}:
                labels.append(_make_label(plan.volume, label, rows, vocabulary))
        if only is None:
            labels += _make_folder_labels(plan)
    return tuple(labels)


def make_box_labels(plans: Sequence[VolumePlan]) -> tuple[BoxLabel, ...]:
    """Return the labels of all boxes of these volumes."""
    return tuple(
        _make_box_label(plan, index, filled)
        for plan in plans
        for index, filled in enumerate(plan.boxes, start=1)
    )


def caution_lines(
    cautions: Sequence[str], vocabulary: Vocabulary, *, closing: str
) -> Iterator[str]:
    """Yield the short words on a label: the titles of the cautions and the closing sentence."""
    if cautions:
        titles = "; ".join(vocabulary.cautions[caution].title.lower() for caution in cautions)
        yield f"Caution: {titles}. {closing}"


def identifier_of(volume: HousedVolume) -> str:
    """Return the stable identifier of a volume: the id of its entry, else of its first one."""
    return volume.entry.id if volume.entry is not None else volume.rows[0][1].id


def _make_label(
    volume: HousedVolume, label: str, rows: tuple[Numbered, ...], vocabulary: Vocabulary
) -> Label:
    entries = [entry for _, entry in rows]
    marks = [entry.mark or format_mark(entry) or "" for entry in entries]
    cautions = dict.fromkeys(
        caution for entry in entries for caution in cautions_of(entry, vocabulary)
    )
    return Label(
        code=entries[0].id,
        heading=label,
        mark="; ".join(filter(None, marks)),
        volume=name_volume(volume),
        place="; ".join(_describe_place(entry) for entry in entries),
        what="; ".join(_describe_item(entry) for entry in entries),
        caption=" / ".join(entry.caption for entry in entries if entry.caption),
        cautions=tuple(cautions),
        note=NEVER_ON_THE_ITEM,
        entries=tuple(number for number, _ in rows),
    )


def _describe_place(entry: Entry) -> str:
    place = format_place(Place(leaf=entry.leaf, side=entry.side)) if entry.leaf else "no place yet"
    return f"{place}, item {entry.item}" if entry.item is not None else place


def _describe_item(entry: Entry) -> str:
    what = ", ".join(entry.item_type) or "item"
    many = f"{entry.quantity} x {what}" if entry.quantity != 1 else what
    private = "access restricted" if entry.access is Access.RESTRICTED else ""
    return ", ".join(filter(None, (many, entry.date, private)))


def _make_folder_labels(plan: VolumePlan) -> Iterator[Label]:
    # A handler may have numbered folders already; ours go on behind the highest number.
    taken = [
        enclosure_order(label)[1]
        for label, _ in plan.other_enclosures
        if label.startswith("folder ")
    ]
    first = max(taken, default=0) + 1
    for number, folder in enumerate(plan.folders, start=first):
        yield Label(
            code=f"{identifier_of(plan.volume)};folder={number}",
            heading=f"folder {number}",
            mark="",
            volume=name_volume(plan.volume),
            place=_describe_envelopes(folder),
            what=_count(len(folder.envelopes), "envelope"),
            caption="",
            cautions=(),
            note="",
            entries=tuple(entry for need in folder.envelopes for entry, _ in need.rows),
        )


def _describe_envelopes(folder: FolderNeed) -> str:
    named = [need.label for need in folder.envelopes if need.label is not None]
    if not named:
        return ""
    return named[0] if len(named) == 1 else f"{named[0]} to {named[-1]}"


def _make_box_label(plan: VolumePlan, index: int, filled: FilledBox) -> BoxLabel:
    volume = plan.volume
    said = volume.entry.enclosure if volume.entry is not None else None
    heading = said if said and index == 1 else f"box {index} of {len(plan.boxes)}"
    contents = [*filled.holds]
    if any("folder" in held for held in filled.holds):
        contents.append(_count(sum(len(each.envelopes) for each in plan.folders), "envelope"))
    return BoxLabel(
        code=f"{identifier_of(volume)};box={index}",
        heading=heading,
        accession=volume.accession or "",
        volume=volume.title,
        contents=", ".join(contents),
        weight_kg=filled.weight_g / 1000,
        cautions=plan.cautions,
        edge_mm=filled.choice.box.depth_mm,
    )


def _count(number: int, word: str) -> str:
    return f"{number} {word if number == 1 else word + 's'}"
