"""Values of entries as sentences and phrases, the same in every format that has prose."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from voicelog.domain.entry import Entry
from voicelog.exports.crosswalk import Crosswalk
from voicelog.exports.volumes import VolumePart, describe_item
from voicelog.exports.xml_text import xml_id
from voicelog.vocabulary import AuthorityMatch, TermField, Vocabulary
from voicelog.vocabulary.inflection import plural_forms

AAT = "http://vocab.getty.edu/aat/"
LIST_JOINT = "; "


def say_value(
    entry: Entry, field: str, *, siblings: Mapping[str, Entry], vocabulary: Vocabulary
) -> tuple[str, ...]:
    """Return a field's value in words, as one or several sentences; none where it has no value.

    Args:
        entry: the entry.
        field: the field's name.
        siblings: entries by id that relations may point to.
        vocabulary: the terms and cautions.
    """
    value = getattr(entry, field)
    match field:
        case "attachment" | "condition" | "action":
            return (LIST_JOINT.join(value),) if value else ()
        case "images":
            return (", ".join(str(image) for image in value),) if value else ()
        case "relations":
            return tuple(
                f"{relation.kind} {_name_target(relation.id, siblings)}" for relation in value
            )
        case "cautions":
            return tuple(
                f"{caution.title}. {caution.wording}"
                for id_ in value
                if (caution := vocabulary.cautions.get(id_))
            )
        case "doubts":
            return tuple(dict.fromkeys(doubt.message for doubt in value))
        case "dimensions":
            return (format_size(entry),) if value else ()
        case "leaves" | "quantity":
            return () if value is None else (str(value),)
    return (str(value),) if value else ()


def say_labelled(
    entry: Entry,
    field: str,
    *,
    crosswalk: Crosswalk,
    siblings: Mapping[str, Entry],
    vocabulary: Vocabulary,
) -> tuple[str, ...]:
    """Return a field's value in words, each sentence behind the field's label."""
    label = crosswalk.labels[field]
    if field == "blank":
        return (label,) if entry.blank else ()
    said = say_value(entry, field, siblings=siblings, vocabulary=vocabulary)
    return tuple(f"{label}: {value}" for value in said)


def format_size(entry: Entry) -> str:
    """Return height and width in millimetres: "108.0 x 152.4"."""
    if entry.dimensions is None:
        return ""
    height, width = entry.dimensions
    return f"{height:.1f} x {width:.1f}"


def name_type(entry: Entry) -> str:
    """Return what an item is, in its preferred terms."""
    return LIST_JOINT.join(entry.item_type) or "item"


def in_number(term: str, count: int) -> str:
    """Return a term in the plural unless it is one.

    >>> in_number("postcard", 1), in_number("postcard", 3)
    ('postcard', 'postcards')
    """
    plurals = () if count == 1 else plural_forms(term)
    return plurals[0] if plurals else term


def count_terms(entries: Iterable[Entry], field: str) -> str:
    """Return how often each term stands in a field: "yellowed (3); tear (1)"."""
    counts = Counter(term for entry in entries for term in getattr(entry, field))
    in_order = sorted(counts.items(), key=lambda one: (-one[1], one[0]))
    return LIST_JOINT.join(f"{term} ({count})" for term, count in in_order)


def find_authority(vocabulary: Vocabulary, field: TermField, term: str) -> str | None:
    """Return the address of a published authority's concept that is the very same, or None."""
    concept = vocabulary.find(field, term)
    if concept is None or concept.authority_match is not AuthorityMatch.EXACT:
        return None
    return concept.authority


def title_of_volume(volume: VolumePart, crosswalk: Crosswalk) -> str:
    """Return the donor's name of a volume, or what the crosswalk says where it has none."""
    if volume.name:
        return volume.name
    if volume.key.volume is None:
        return crosswalk.texts.no_volume_title
    return crosswalk.texts.volume_title.format(volume=volume.key.volume)


def title_of_item(entry: Entry, crosswalk: Crosswalk) -> str:
    """Return what an item is called where it has no title of its own."""
    return crosswalk.texts.item_title.format(type=name_type(entry), place=describe_item(entry))


def join_places(entries: Iterable[Entry]) -> str:
    """Return the places of entries, each once, in their order."""
    return LIST_JOINT.join(dict.fromkeys(describe_item(entry) for entry in entries))


def split_enclosure(enclosure: str) -> tuple[str, str]:
    """Return kind and number of an enclosure.

    >>> split_enclosure("four-flap wrapper 3")
    ('four-flap wrapper', '3')
    """
    kind, _, number = enclosure.rpartition(" ")
    return (kind, number) if kind else (enclosure, "")


def _name_target(entry_id: str, siblings: Mapping[str, Entry]) -> str:
    target = siblings.get(entry_id)
    named = f"{describe_item(target)} " if target else ""
    return f"{named}[{xml_id(entry_id)}]"
