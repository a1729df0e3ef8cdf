"""Rules about the description of a volume, and about entries that belong to none."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.checks.rules import Check, Evidence, Rule, count_of
from voicelog.checks.volumes import VolumeLog
from voicelog.domain.finding import Finding, Severity

ACCESSION_MISSING = Rule(
    code="accession-missing",
    severity=Severity.ERROR,
    found="no accession number was said",
    remedy="Say the accession number before the volume, or correct it in the entries.",
)
ACCESSION_UNREGISTERED = Rule(
    code="accession-unregistered",
    severity=Severity.ERROR,
    found="the number is not among known_accessions",
    remedy="Compare it with the register: correct it, or add it to the setting known_accessions.",
)
VOLUME_MISSING = Rule(
    code="volume-missing",
    severity=Severity.ERROR,
    found="entries belong to no volume",
    remedy="Say which volume they are from: its number, or what the donor calls it.",
)
VOLUME_INCOMPLETE = Rule(
    code="volume-incomplete",
    severity=Severity.WARNING,
    found="binding, support or size was not said",
    remedy="Say it while the volume is on the bench.",
)
LEAVES_UNCOUNTED = Rule(
    code="leaves-uncounted",
    severity=Severity.NOTICE,
    found="the number of leaves was not said",
    remedy="Count the leaves and say the number; only then can a missing last leaf show.",
)
VOLUME_NOT_BOXED = Rule(
    code="volume-not-boxed",
    severity=Severity.WARNING,
    found="no box, or a box without its number",
    remedy="Put it into its box, and say which.",
)
VOLUME_NOT_LABELLED = Rule(
    code="volume-not-labelled",
    severity=Severity.WARNING,
    found="nothing says that the box was labelled",
    remedy="Put the label on the edge of the box that faces out, and say 'the volume is labelled'.",
)


def find_in_descriptions(evidence: Evidence) -> Iterator[Finding]:
    """Yield what each volume lacks as a whole."""
    for volume in evidence.volumes:
        yield from _find_unnamed(volume)
        if evidence.known_accessions and volume.key.accession is not None:
            yield from _find_unregistered(volume, evidence.known_accessions)
        if volume.key.volume is not None:
            yield from _find_undescribed(volume)
            yield from _find_unhoused(volume)


def _find_unnamed(volume: VolumeLog) -> Iterator[Finding]:
    those = count_of(len(volume.entries), "entry", plural="entries")
    if volume.key.accession is None:
        yield ACCESSION_MISSING.of_volume(
            volume, f"No accession number was said for {those}.", behind=volume.entries
        )
    if volume.key.volume is None:
        yield VOLUME_MISSING.of_volume(
            volume, f"No volume was named for {those}.", behind=volume.entries
        )


def _find_unregistered(volume: VolumeLog, known: tuple[str, ...]) -> Iterator[Finding]:
    if volume.key.accession not in known:
        yield ACCESSION_UNREGISTERED.of_volume(
            volume,
            f"The accession number {volume.key.accession} is not in the register.",
            behind=volume.entries[:1],
        )


def _find_undescribed(volume: VolumeLog) -> Iterator[Finding]:
    entry = volume.entry
    said = {
        "binding": entry is not None and entry.binding is not None,
        "support": entry is not None and entry.support is not None,
        "size": entry is not None and entry.dimensions is not None,
    }
    for what, is_said in said.items():
        if not is_said:
            yield VOLUME_INCOMPLETE.of_volume(
                volume, f"The {what} of {volume.name} was not said.", about=what
            )
    if entry is None or entry.leaves is None:
        yield LEAVES_UNCOUNTED.of_volume(
            volume, f"The number of leaves of {volume.name} was not said."
        )


def _find_unhoused(volume: VolumeLog) -> Iterator[Finding]:
    entry = volume.entry
    box = entry.enclosure if entry is not None else None
    if box is None:
        boxed = entry is not None and "boxed" in entry.action
        name = volume.name.capitalize()
        yield VOLUME_NOT_BOXED.of_volume(
            volume,
            f"{name} was boxed, and nothing says in which box."
            if boxed
            else f"Nothing says that {volume.name} was boxed.",
            fields=("action",),
        )
    if entry is None or "labelled" not in entry.action:
        yield VOLUME_NOT_LABELLED.of_volume(
            volume, f"Nothing says that the box of {volume.name} was labelled."
        )


DESCRIPTIONS = Check(
    rules=(
        ACCESSION_MISSING,
        ACCESSION_UNREGISTERED,
        VOLUME_MISSING,
        VOLUME_INCOMPLETE,
        LEAVES_UNCOUNTED,
        VOLUME_NOT_BOXED,
        VOLUME_NOT_LABELLED,
    ),
    find=find_in_descriptions,
    one_by_one=True,
)
