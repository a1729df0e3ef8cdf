"""A log is checked volume by volume, and what is found is what the whole log at once would give."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from weakref import ref

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.checks.test_properties import VOCABULARY, logs
from voicelog.checks.closing import (
    CHECKS,
    CheckOptions,
    find_findings,
    find_in_volumes,
    gather_evidence,
    rules,
)
from voicelog.checks.log_volumes import LogVolumes, NumberedIn, VolumesInMemory
from voicelog.checks.rules import Check, Comparison, Evidence, Rule
from voicelog.checks.volumes import VolumeKey, VolumeLog, group_volumes
from voicelog.domain.entry import Entry, Kind, Side
from voicelog.domain.finding import Finding, Severity
from voicelog.domain.note import Note, Span
from voicelog.domain.place import place_order
from voicelog.extraction.closing_count import parse_closing_count
from voicelog.store.log import Log
from voicelog.store.writing import Understanding, WritableLog

OPTIONS = CheckOptions()
COUNTS = (parse_closing_count("box one holds the volume and envelopes 1 to 3"),)
GREEN_BOOK = Entry(
    id="green", kind=Kind.VOLUME, accession="2031-007", volume="1", enclosure="box 1", notes=(1,)
)
PICNIC_ALBUM = replace(GREEN_BOOK, id="picnic", volume="2", enclosure="box 2", notes=(2,))


def item(id_: str, volume: Entry, **fields: object) -> Entry:
    """Return an item on leaf 1 recto of a volume."""
    on_it = {"kind": Kind.ITEM, "leaf": "1", "side": Side.RECTO, "item": 1, "enclosure": None}
    return replace(volume, id=id_, **(on_it | fields))


class AllAtOnce(VolumesInMemory):
    """A log of which every rule sees everything."""

    def outline(self, key: VolumeKey) -> VolumeLog:
        return self.read(key)

    def shared_enclosures(self) -> Collection[NumberedIn]:
        return {
            (key.accession, entry.enclosure or "")
            for key in self.list_keys()
            for entry in self.read(key).entries
        }


def find_all_at_once(entries: Collection[Entry]) -> tuple[Finding, ...]:
    """Return what is found where every rule is given the whole log, and then put in order."""
    volumes = group_volumes(entries)
    said = find_said_counts(entries)
    evidence = replace(
        gather_evidence(VOCABULARY, OPTIONS), volumes=volumes, counts=(*said, *COUNTS)
    )
    found = [
        finding
        for check in CHECKS
        for finding in (
            check.find(AllAtOnce(entries), evidence)
            if isinstance(check, Comparison)
            else check.find(evidence)
        )
    ]
    ranks = {volume.key: rank for rank, volume in enumerate(volumes)}
    return tuple(
        sorted(
            found,
            key=lambda one: (
                ranks.get(VolumeKey(one.accession, one.volume), -1),
                list(Severity).index(one.severity),
                place_order(one.leaf, one.side),
            ),
        )
    )


def find_said_counts(entries: Collection[Entry]) -> tuple[object, ...]:
    """Return the closing counts in the remarks of volumes, as a check of the log hears them."""
    heard: list[object] = []

    def listen(evidence: Evidence) -> list[Finding]:
        heard.extend(evidence.counts)
        return []

    listening = Check(rules=(), find=lambda evidence: iter(listen(evidence)))
    find_findings(entries, VOCABULARY, OPTIONS, also=[listening])
    return tuple(heard)


@st.composite
def logs_with_many_enclosures(draw: st.DrawFn) -> tuple[Entry, ...]:
    """Entries of few volumes and accessions that share boxes and enclosures, some void."""
    return tuple(
        replace(
            entry,
            accession=draw(st.sampled_from([None, "2031-007", "2031-008"])),
            volume=draw(st.sampled_from([None, "1", "2", "the green book", ""])),
            enclosure=draw(
                st.sampled_from([None, "envelope 1", "envelope 4", "folder 2", "box 1", "box 2"])
            ),
            sources={
                field: (Span(note=draw(st.integers(1, 9)), text="?", first=0, last=1),)
                for field in ("remark", "enclosure", "leaves", "action")
            },
        )
        for entry in draw(logs())
    )


@given(entries=logs_with_many_enclosures())
@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=150)
def test_one_volume_at_a_time_finds_what_all_at_once_find(entries: tuple[Entry, ...]) -> None:
    """The same findings in the same order."""
    found = find_findings(entries, VOCABULARY, OPTIONS, counts=COUNTS)
    assert found == find_all_at_once(entries)


@given(entries=logs_with_many_enclosures())
@settings(
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
    max_examples=100,
)
def test_a_log_on_disk_gives_what_its_entries_in_memory_give(
    entries: tuple[Entry, ...], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Volumes with and without numbers, moved about, voided; numbers of entries as well."""
    folder = tmp_path_factory.mktemp("any") / "log"
    with WritableLog.open_to_write(folder, made_by="a test") as log:
        for number, entry in enumerate(entries, start=1):
            note = Note(number=number, uid=f"u-{number}", text="")
            log.add_note(note, Understanding(changed=(entry,)))
    with Log.open(folder) as log:
        numbered = dict(log.iter_entries())
        stored = log.volumes_one_by_one()
        everything: LogVolumes = VolumesInMemory(numbered.values())
        assert stored.list_keys() == everything.list_keys()
        assert {
            number: entry
            for key in stored.list_keys()
            for number, entry in stored.read_numbered(key)
        } == numbered
        for key in stored.list_keys():
            assert stored.read(key) == everything.read(key)
        assert set(stored.shared_enclosures()) == set(everything.shared_enclosures())
        for entry in entries:
            number = next((no for no, one in numbered.items() if one.id == entry.id), None)
            assert stored.find_number(entry.id) == number
        for number, entry in log.iter_entries(include_void=True):
            assert stored.find_number(entry.id, include_void=True) == number
        evidence = gather_evidence(VOCABULARY, OPTIONS, counts=COUNTS)
        found = [one for its in find_in_volumes(stored, evidence) for one in its.findings]
    assert tuple(found) == find_all_at_once(tuple(numbered.values()))


def test_what_is_compared_is_found_between_volumes_that_are_never_together() -> None:
    """An envelope in two volumes is told of the later one; a count tells where else it is."""
    entries = (
        replace(GREEN_BOOK, remark="box 1 holds the volume and envelopes 1 to 3"),
        item("ticket", GREEN_BOOK, enclosure="envelope 1"),
        PICNIC_ALBUM,
        item("menu", PICNIC_ALBUM, enclosure="envelope 1"),
        item("map", PICNIC_ALBUM, enclosure="envelope 3", item=2),
    )
    found = find_findings(entries, VOCABULARY, OPTIONS)
    told = {(one.code, one.volume): one.message for one in found if "nvelope" in one.message}
    assert (
        told["enclosure-in-two-volumes", "2"]
        == "Envelope 1 holds things from volume 1 and volume 2."
    )
    unknown = [one.message for one in found if one.code == "counted-unknown"]
    assert unknown == [
        "Envelope 2 was counted into box 1, and by the log it is not there at all.",
        "Envelope 3 was counted into box 1, and by the log it is only in volume 2.",
    ]


def test_only_some_volumes_are_compared_with_all_others() -> None:
    """Closing one volume finds what is wrong between it and the others, and nothing of those."""
    entries = (
        GREEN_BOOK,
        item("ticket", GREEN_BOOK, enclosure="envelope 1"),
        PICNIC_ALBUM,
        item("menu", PICNIC_ALBUM, enclosure="envelope 1"),
    )
    volumes = VolumesInMemory(entries)
    evidence = gather_evidence(VOCABULARY, OPTIONS)
    picnic = VolumeKey("2031-007", "2")
    some = list(find_in_volumes(volumes, evidence, only=picnic.__eq__))
    assert [its.volume.key for its in some if its.volume is not None] == [picnic]
    assert "enclosure-in-two-volumes" in {one.code for its in some for one in its.findings}
    whole = list(find_in_volumes(volumes, evidence))
    assert some == [whole[0], whole[-1]]


def test_a_check_is_given_what_it_asks_for() -> None:
    """One volume after the other, or, unless it says that this will do, all of them together."""
    seen: list[list[VolumeKey]] = []
    rule = Rule(code="seen", severity=Severity.NOTICE, found="", remedy="")

    def look(evidence: Evidence) -> list[Finding]:
        seen.append([volume.key for volume in evidence.volumes])
        return [rule.of_volume(volume, "Seen.") for volume in evidence.volumes]

    def find(*, one_by_one: bool) -> list[str | None]:
        check = Check(rules=(rule,), find=lambda its: iter(look(its)), one_by_one=one_by_one)
        found = find_findings((GREEN_BOOK, PICNIC_ALBUM), VOCABULARY, OPTIONS, also=[check])
        return [one.volume for one in found if one.code == "seen"]

    green, picnic = VolumeKey("2031-007", "1"), VolumeKey("2031-007", "2")
    assert find(one_by_one=False) == find(one_by_one=True) == ["1", "2"]
    assert seen == [[green, picnic], [green], [picnic]]


def test_no_two_volumes_are_in_memory_at_a_time() -> None:
    """What was read of a volume is let go of before the next one is read."""
    read: list[ref[VolumeLog]] = []

    class Watched(VolumesInMemory):
        def read(self, key: VolumeKey) -> VolumeLog:
            volume = replace(super().read(key))
            read.append(ref(volume))
            return volume

        def outline(self, key: VolumeKey) -> VolumeLog:
            return super().read(key)

    volumes = Watched(replace(GREEN_BOOK, id=name, volume=name) for name in "123456")
    most = 0
    for _ in find_in_volumes(volumes, gather_evidence(VOCABULARY, OPTIONS)):
        most = max(most, sum(one() is not None for one in read))
    # The one before is still in the hands of whoever asks for the next.
    assert most <= 2


def test_every_rule_belongs_to_one_check() -> None:
    """A rule that moved to a comparison is still known, once."""
    codes = [rule.code for rule in rules()]
    assert len(set(codes)) == len(codes)
