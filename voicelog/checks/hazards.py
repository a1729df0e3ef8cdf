"""Rules about what can hurt people or the object: it was set apart, and everybody is told."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.checks.rules import Check, Evidence, Rule, name_entry
from voicelog.checks.volumes import VolumeLog
from voicelog.domain.entry import Entry
from voicelog.domain.finding import Finding, Severity
from voicelog.extraction.logbook.finishing import cautions_of
from voicelog.vocabulary import Vocabulary

HAZARD_NOT_ISOLATED = Rule(
    code="hazard-not-isolated",
    severity=Severity.ERROR,
    found="mould, possible nitrate film and the like, neither isolated nor referred",
    remedy="Say whether it was isolated or referred. Follow local codes and policies; a "
    "conservator or other licensed professional decides.",
)
CAUTION = Rule(
    code="caution",
    severity=Severity.NOTICE,
    found="what everybody who handles the volume should know, once a volume",
    remedy="Tell everybody who handles the volume or its box.",
)

_SET_APART = frozenset({"isolated", "referred"})


def find_in_hazards(evidence: Evidence) -> Iterator[Finding]:
    """Yield hazards that nobody set apart, and each caution once in a volume."""
    for volume in evidence.volumes:
        called = {one.id: cautions_of(one, evidence.vocabulary) for one in volume.entries}
        yield from _find_not_set_apart(volume, called, evidence.vocabulary)
        yield from _find_cautions(volume, called, evidence.vocabulary)


def _find_not_set_apart(
    volume: VolumeLog, called: dict[str, tuple[str, ...]], vocabulary: Vocabulary
) -> Iterator[Finding]:
    if volume.entry is not None and _is_set_apart(volume.entry):
        return
    for entry in volume.entries:
        hazards = [
            vocabulary.cautions[caution]
            for caution in called[entry.id]
            if vocabulary.cautions[caution].calls_for_isolation
        ]
        if hazards and not _is_set_apart(entry):
            titles = "; ".join(hazard.title for hazard in hazards).lower()
            yield HAZARD_NOT_ISOLATED.of_entry(
                entry,
                f"{name_entry(entry)} raises a hazard ({titles}), and nothing says that it was "
                "isolated or referred.",
                about=",".join(hazard.id for hazard in hazards),
            )


def _is_set_apart(entry: Entry) -> bool:
    return not _SET_APART.isdisjoint(entry.action)


def _find_cautions(
    volume: VolumeLog, called: dict[str, tuple[str, ...]], vocabulary: Vocabulary
) -> Iterator[Finding]:
    raised: dict[str, list[Entry]] = {}
    for entry in volume.entries:
        for caution in called[entry.id]:
            raised.setdefault(caution, []).append(entry)
    for caution, entries in raised.items():
        known = vocabulary.cautions[caution]
        yield CAUTION.of_entries(entries, f"{known.title}. {known.wording}", about=caution)


HAZARDS = Check(rules=(HAZARD_NOT_ISOLATED, CAUTION), find=find_in_hazards, one_by_one=True)
