"""Accessions and volumes: naming them, tying names together, correcting them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from voicelog.domain.entry import Entry, Kind
from voicelog.domain.statement import NameAccession, NameVolume

if TYPE_CHECKING:
    from voicelog.extraction.logbook.application import Application


def name_accession(work: Application, said: NameAccession) -> None:
    """Start on an accession, or restate the one of the latest entry."""
    if said.corrects:
        _correct_accession(work, said)
        return
    if said.accession == work.context.accession:
        return
    work.context = replace(
        work.context,
        accession=said.accession,
        volume=None,
        leaf=None,
        side=None,
        latest=None,
        place_doubts=(),
        accession_doubts=said.doubts,
    )
    work.opened.clear()


def name_volume(work: Application, said: NameVolume) -> None:
    """Start on a volume or go on with it; a number and a name said together are tied."""
    if said.corrects and _correct_volume(work, said):
        return
    number = said.number
    if said.is_next:
        number = _next_number(work)
    found = _find(work, number=number, name=said.name)
    current = work.register.find(work.context.volume)
    is_unnamed = current is not None and current.volume is None
    gets_name = said.names_current and current is not None and current.volume_name is None
    if found is None and (is_unnamed or gets_name):
        # What was said before the volume had a number is about this volume.
        found = current
    if found is not None and found.id == work.context.volume:
        _tie(work, found, number=number, name=said.name, said=said)
        work.context = replace(work.context, latest=found.id)
        return
    work.context = replace(
        work.context, leaf=None, side=None, volume=None, latest=None, place_doubts=()
    )
    work.opened.clear()
    if found is None:
        label = number or _short_name(said.name)
        found = work.make_entry(Kind.VOLUME, volume=label, volume_name=said.name)
        fields: dict[str, str | None] = {"volume": label}
        if said.name is not None:
            fields["volume_name"] = said.name
        found = work.change(found, said.spans, **fields)
    else:
        found = _tie(work, found, number=number, name=said.name, said=said)
    work.context = replace(work.context, volume=found.id, latest=found.id)


def _find(work: Application, *, number: str | None, name: str | None) -> Entry | None:
    volumes = list(work.register.volume_entries(work.context.accession))
    if number is not None:
        for volume in volumes:
            if volume.volume == number:
                return volume
    if name is not None:
        wanted = _compared(name)
        for volume in volumes:
            if wanted in {_compared(volume.volume_name), _compared(volume.volume)}:
                return volume
    return None


def _tie(
    work: Application, volume: Entry, *, number: str | None, name: str | None, said: NameVolume
) -> Entry:
    """Give a volume the number or name it did not have; its rows follow."""
    label = number or volume.volume or _short_name(name)
    known_name = volume.volume_name or name
    if (label, known_name) == (volume.volume, volume.volume_name):
        return volume
    return _rename(work, volume, label=label, name=known_name, said=said)


def _rename(
    work: Application, volume: Entry, *, label: str | None, name: str | None, said: NameVolume
) -> Entry:
    for entry in work.register.of_volume((volume.accession, volume.volume)):
        if entry.id != volume.id:
            work.change_aside(entry, volume=label, volume_name=name)
    return work.change(volume, said.spans, volume=label, volume_name=name)


def _correct_volume(work: Application, said: NameVolume) -> bool:
    """Restate the volume of the latest entry; False where there is no entry to correct."""
    latest = work.register.find(work.context.latest)
    if latest is None:
        return False
    if latest.kind is Kind.VOLUME:
        label = said.number or (latest.volume if said.name is None else None)
        name = said.name or latest.volume_name
        _rename(work, latest, label=label or _short_name(name), name=name, said=said)
        return True
    found = _find(work, number=said.number, name=said.name)
    here = work.context
    if found is None:
        label = said.number or _short_name(said.name)
        found = work.make_entry(Kind.VOLUME, volume=label, volume_name=said.name)
    work.context = replace(here, volume=found.id)
    work.change(latest, said.spans, volume=found.volume, volume_name=found.volume_name)
    return True


def _correct_accession(work: Application, said: NameAccession) -> None:
    latest = work.register.find(work.context.latest)
    volume = work.register.find(work.context.volume)
    work.context = replace(work.context, accession=said.accession, accession_doubts=said.doubts)
    if volume is not None:
        # A wrong number was said for the volume; everything logged in it moves along.
        for entry in work.register.of_volume((volume.accession, volume.volume)):
            is_said_of = entry.id == (latest or volume).id
            work.change_aside(entry, said.spans if is_said_of else (), accession=said.accession)
    elif latest is not None:
        work.change(latest, said.spans, accession=said.accession)


def _next_number(work: Application) -> str | None:
    current = work.register.find(work.context.volume)
    if current is None:
        return "1"
    return str(int(current.volume) + 1) if current.volume and current.volume.isdecimal() else None


def _compared(name: str | None) -> str | None:
    """Return a name as it is compared; recognisers set capitals and spaces as they like."""
    short = _short_name(name)
    return None if short is None else "".join(short.casefold().replace("-", " ").split())


def _short_name(name: str | None) -> str | None:
    """Return a donor's name without its article, as it stands for a number."""
    if name is None:
        return None
    return name[4:] if name.lower().startswith("the ") else name
