"""What a rule is: a permanent code, how grave it is, what to do; and what it looks at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from voicelog.checks.log_volumes import LogVolumes
from voicelog.checks.scans.looking import SeenScans
from voicelog.checks.sequence import ImagedBy
from voicelog.checks.volumes import VolumeKey, VolumeLog, describe_place
from voicelog.domain.entry import Entry, Kind
from voicelog.domain.finding import Finding, Severity
from voicelog.domain.place import Place
from voicelog.extraction.closing_count import ClosingCount
from voicelog.vocabulary import Vocabulary


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What the rules look at.

    Attributes:
        volumes: the volumes to look at, void entries left out: one, where a check looks at each
            for itself, else those of the whole log.
        vocabulary: the terms, and which cautions they call for.
        known_accessions: the accession numbers in use; empty where none are listed.
        imaged_by: whether volumes have an image a side or one an opening, where their
            notes don't say.
        counts: the closing counts, those of the log and those given.
        scans: the images on disk with what was seen on them, or None where none were given.
        least_ppi: the resolution that scans should have, in pixels per inch; 0 for any.
    """

    volumes: tuple[VolumeLog, ...]
    vocabulary: Vocabulary
    known_accessions: tuple[str, ...] = ()
    imaged_by: ImagedBy = ImagedBy.PAGES
    counts: tuple[ClosingCount, ...] = ()
    scans: SeenScans | None = None
    least_ppi: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One kind of finding.

    Attributes:
        code: permanent.
        severity: how much it matters.
        found: where it is found, as the reference lists it.
        remedy: what to do, in one sentence.
    """

    code: str
    severity: Severity
    found: str
    remedy: str

    def of_entry(self, entry: Entry, message: str, *, about: str = "") -> Finding:
        """Return a finding about one entry."""
        return self.of_entries([entry], message, about=about)

    def of_entries(self, entries: Iterable[Entry], message: str, *, about: str = "") -> Finding:
        """Return a finding about the first of some entries; the notes of all stand behind it."""
        those = list(entries)
        first = those[0]
        return self._make(
            message,
            about=about,
            key=VolumeKey(first.accession, first.volume or first.volume_name),
            place=None if first.leaf is None else Place(leaf=first.leaf, side=first.side),
            entry=first.id,
            behind=those,
        )

    def of_place(
        self, volume: VolumeLog, place: Place, message: str, *, about: str = ""
    ) -> Finding:
        """Return a finding about a place of a volume."""
        return self._make(
            message, about=about, key=volume.key, place=place, behind=list(volume.at(place))
        )

    def of_volume(
        self,
        volume: VolumeLog,
        message: str,
        *,
        about: str = "",
        behind: Iterable[Entry] = (),
        fields: Iterable[str] = (),
    ) -> Finding:
        """Return a finding about a volume as a whole.

        Args:
            volume: the volume.
            message: what is wrong.
            about: what it was found on; see :class:`Finding`.
            behind: entries whose notes stand behind it.
            fields: fields of the volume's own entry, the notes that gave them stand behind it.
        """
        entry = volume.entry
        found = self._make(
            message,
            about=about,
            key=volume.key,
            entry=None if entry is None else entry.id,
            behind=list(behind),
        )
        if entry is None:
            return found
        said = {note for field in fields for note in _notes_of(entry, field)}
        return replace(found, notes=tuple(sorted({*found.notes, *said})))

    def of_log(self, message: str, *, about: str = "", behind: Iterable[Entry] = ()) -> Finding:
        """Return a finding about no single volume."""
        return self._make(message, about=about, key=VolumeKey(None, None), behind=list(behind))

    def _make(
        self,
        message: str,
        *,
        about: str,
        key: VolumeKey,
        behind: list[Entry],
        place: Place | None = None,
        entry: str | None = None,
    ) -> Finding:
        return Finding(
            code=self.code,
            severity=self.severity,
            message=message,
            remedy=self.remedy,
            accession=key.accession,
            volume=key.volume,
            leaf=None if place is None else place.leaf,
            side=None if place is None else place.side,
            entry=entry,
            notes=tuple(sorted({note for one in behind for note in one.notes})),
            about=about,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A family of rules that are found together.

    Attributes:
        rules: every rule that ``find`` may report.
        find: looks at the evidence and yields findings; changes nothing.
        one_by_one: whether it is given one volume after the other, and finds nothing in others;
            else the whole log is read into memory for it.
    """

    rules: tuple[Rule, ...]
    find: Callable[[Evidence], Iterator[Finding]]
    one_by_one: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A family of rules over several volumes, of which it keeps no more than it needs.

    Attributes:
        rules: every rule that ``find`` may report.
        find: looks at the log, and at evidence without volumes; changes nothing.
    """

    rules: tuple[Rule, ...]
    find: Callable[[LogVolumes, Evidence], Iterator[Finding]]


def _notes_of(entry: Entry, field: str) -> tuple[int, ...]:
    origin = entry.sources.get(field)
    return tuple(span.note for span in origin) if isinstance(origin, tuple) else ()


def name_entry(entry: Entry) -> str:
    """Return what an entry is about as a sentence begins with it.

    >>> from voicelog.domain.entry import Kind
    >>> name_entry(Entry(id="e", kind=Kind.ITEM, leaf="2", item=2, item_type=("postcard",)))
    'Item 2 on leaf 2 (postcard)'
    >>> name_entry(Entry(id="e", kind=Kind.LEAF, leaf="front cover"))
    'The front cover'
    """
    if entry.leaf is None:
        return "The volume" if entry.kind is Kind.VOLUME else _name_thing(entry)
    place = Place(leaf=entry.leaf, side=entry.side)
    said = describe_place(place)
    is_plain = place.number is not None
    if entry.kind is Kind.LEAF:
        return said.capitalize() if is_plain else f"The {said}"
    what = ", ".join(entry.item_type) or "of no type"
    where = said if place.is_insert else f"on {said}" if is_plain else f"on the {said}"
    return f"{_name_thing(entry)} {where} ({what})"


def _name_thing(entry: Entry) -> str:
    return "Something" if entry.item is None else f"Item {entry.item}"


def join_and(words: Iterable[str]) -> str:
    """Return words as a sentence lists them.

    >>> join_and(["binding", "support", "size"])
    'binding, support and size'
    """
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def count_of(number: int, noun: str, *, plural: str | None = None) -> str:
    """Return a number with its noun.

    >>> count_of(1, "leaf", plural="leaves"), count_of(3, "folder")
    ('1 leaf', '3 folders')
    """
    return f"{number} {noun if number == 1 else plural or f'{noun}s'}"
