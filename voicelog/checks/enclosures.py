"""Rules about envelopes, folders and sleeves: every one has a number, and one volume."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.checks.log_volumes import LogVolumes, NumberedIn
from voicelog.checks.rules import Check, Comparison, Evidence, Rule, join_and, name_entry
from voicelog.checks.volumes import VolumeLog
from voicelog.domain.entry import Entry, Kind
from voicelog.domain.finding import Finding, Severity

ENCLOSED_WITHOUT_NUMBER = Rule(
    code="enclosed-without-number",
    severity=Severity.ERROR,
    found="a thing was enclosed, nothing says in what",
    remedy="Look at the enclosure and say its number; where it has none yet, write it first.",
)
ENCLOSURE_IN_TWO_VOLUMES = Rule(
    code="enclosure-in-two-volumes",
    severity=Severity.ERROR,
    found="one enclosure number in two volumes of an accession",
    remedy="Look at the enclosure: correct the entry that is wrong, or give one a new number.",
)


def find_in_enclosures(evidence: Evidence) -> Iterator[Finding]:
    """Yield things that were enclosed, and nothing says in what."""
    for volume in evidence.volumes:
        for entry in volume.items:
            if "enclosed" in entry.action and entry.enclosure is None:
                yield ENCLOSED_WITHOUT_NUMBER.of_entry(
                    entry, f"{name_entry(entry)} was enclosed, and nothing says in which enclosure."
                )


def enclosures_of(volume: VolumeLog) -> dict[str, list[Entry]]:
    """Return the numbered enclosures of a volume's items, boxes left out, with what is inside."""
    found: dict[str, list[Entry]] = {}
    for entry in volume.entries:
        name = entry.enclosure
        if entry.kind is not Kind.VOLUME and name is not None and not name.startswith("box "):
            found.setdefault(name, []).append(entry)
    return found


def find_shared(volumes: LogVolumes, evidence: Evidence) -> Iterator[Finding]:
    """Yield enclosures that things in several volumes of an accession are said to be in."""
    del evidence
    wanted = volumes.shared_enclosures()
    if not wanted:
        return
    # Numbers begin anew with each accession; within one, a number is one enclosure.
    holders: dict[NumberedIn, list[tuple[str, list[Entry]]]] = {}
    for volume in map(volumes.outline, volumes.list_keys()):
        for name, inside in enclosures_of(volume).items():
            if (volume.key.accession, name) in wanted:
                holders.setdefault((volume.key.accession, name), []).append((volume.name, inside))
    for (_, name), held in holders.items():
        if len(held) < 2:
            continue
        named = join_and(volume for volume, _ in held)
        yield ENCLOSURE_IN_TWO_VOLUMES.of_entries(
            [entry for _, inside in reversed(held) for entry in inside],
            f"{name.capitalize()} holds things from {named}.",
            about=name,
        )


ENCLOSURES = Check(rules=(ENCLOSED_WITHOUT_NUMBER,), find=find_in_enclosures, one_by_one=True)
SHARED_ENCLOSURES = Comparison(rules=(ENCLOSURE_IN_TWO_VOLUMES,), find=find_shared)
