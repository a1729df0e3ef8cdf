"""Rules about the scans themselves: readable, in place, of a kind, and showing what they should."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from statistics import median

from voicelog.checks.images import extra_views
from voicelog.checks.log_volumes import LogVolumes
from voicelog.checks.rules import Check, Comparison, Evidence, Rule, count_of, join_and
from voicelog.checks.scans.looking import SeenScans
from voicelog.checks.scans.scan_set import Scan, name_file
from voicelog.checks.sequence import find_imaged_by, find_views
from voicelog.checks.volumes import VolumeKey, VolumeLog, describe_place
from voicelog.domain.entry import Kind
from voicelog.domain.finding import Finding, Severity
from voicelog.domain.place import Place

SCAN_UNREADABLE = Rule(
    code="scan-unreadable",
    severity=Severity.ERROR,
    found="a file is no image inside, or damaged",
    remedy="Fetch it again from the camera or the backup, or image the side again.",
)
SCAN_UNMATCHED = Rule(
    code="scan-unmatched",
    severity=Severity.WARNING,
    found="nothing tells what a scan shows",
    remedy="Say its image number in the log, give an example of its name, or take it out of the "
    "folder.",
)
SCAN_OUTSIDE_VOLUME = Rule(
    code="scan-outside-volume",
    severity=Severity.WARNING,
    found="its name tells a place that the volume doesn't have",
    remedy="Look at it beside the volume: its name, or the number of leaves, is wrong.",
)
SCAN_TOO_MANY = Rule(
    code="scan-too-many",
    severity=Severity.WARNING,
    found="more scans of a place than expected",
    remedy="Look which of them is right, and take the other out of the folder.",
)
NUMBER_WITHOUT_SCAN = Rule(
    code="number-without-scan",
    severity=Severity.WARNING,
    found="an image number was said, and no scan has it",
    remedy="Look for the file, correct the number, or image the side again.",
)
SCAN_IDENTICAL = Rule(
    code="scan-identical",
    severity=Severity.ERROR,
    found="one file under two names, for two places",
    remedy="One of the places was not imaged: look which, and image it.",
)
SCAN_ALIKE = Rule(
    code="scan-alike",
    severity=Severity.WARNING,
    found="two scans for two places look the same",
    remedy="Look whether one side was imaged twice and another not at all.",
)
SCAN_SMALL = Rule(
    code="scan-small",
    severity=Severity.WARNING,
    found="less than half as many pixels as usual",
    remedy="Look whether it is a preview or a detail; image the whole side again where it is.",
)
SCAN_RESOLUTION = Rule(
    code="scan-resolution",
    severity=Severity.WARNING,
    found="its own tag says less than scan_least_ppi",
    remedy="Look at the settings of the camera or scanner.",
)
SCAN_WITHOUT_RESOLUTION = Rule(
    code="scan-without-resolution",
    severity=Severity.NOTICE,
    found="it has no such tag",
    remedy="Note the resolution elsewhere, or have the imaging software write it.",
)
SCAN_COLOUR = Rule(
    code="scan-colour",
    severity=Severity.WARNING,
    found="grey among colour, or two-tone",
    remedy="Look at the settings of the camera or scanner; image the side again in colour.",
)
SCAN_LOOKS_BLANK = Rule(
    code="scan-looks-blank",
    severity=Severity.WARNING,
    found="blank by its looks, but something is logged there",
    remedy="Look at the scan and the side: is it the right image, and was everything there?",
)
SCAN_NOT_BLANK = Rule(
    code="scan-not-blank",
    severity=Severity.WARNING,
    found="the log says blank, and the scan shows something",
    remedy="Look at the scan and the side: log what is there, or correct the scan's place.",
)
SCAN_OTHER_FILES = Rule(
    code="scan-other-files",
    severity=Severity.NOTICE,
    found="files among the scans that are no images",
    remedy="Take them out of the folder, unless they belong there.",
)

# A scan with less than half the pixels of the usual one is hardly of a whole side.
_SMALL_SHARE = 0.5
_IN_COLOUR = frozenset({"RGB", "RGBA", "YCbCr", "LAB", "CMYK", "RGBX"})
_COLOUR_WORDS = {"1": "in black and white only", "P": "in a palette of few colours"}
_LISTED = 5


def find_in_scan_files(evidence: Evidence) -> Iterator[Finding]:
    """Yield what is wrong with the scans of each volume; nothing where none were given."""
    seen = evidence.scans
    if seen is None:
        return
    for volume in evidence.volumes:
        scans = seen.scan_set.of_volume(volume.key)
        if scans:
            yield from _find_misplaced(volume, scans, evidence)
            yield from _find_odd(volume, scans, evidence.least_ppi)
            yield from _find_unlike_log(volume, scans, seen)


def find_among_scans(volumes: LogVolumes, evidence: Evidence) -> Iterator[Finding]:
    """Yield files that can't be used, that nobody can place, or that are there twice."""
    del volumes
    if evidence.scans is not None:
        yield from _find_unusable(evidence.scans)
        yield from _find_unmatched(evidence.scans)
        yield from _find_doubles(evidence.scans)


def _find_unusable(seen: SeenScans) -> Iterator[Finding]:
    for file in (*seen.scan_set.unreadable, *seen.unreadable):
        yield SCAN_UNREADABLE.of_log(
            f"{name_file(file.path)} can't be read as an image ({file.reason}).",
            about=name_file(file.path),
        )
    if seen.scan_set.others:
        yield SCAN_OTHER_FILES.of_log(
            f"{count_of(len(seen.scan_set.others), 'file')} among the scans "
            f"{'is' if len(seen.scan_set.others) == 1 else 'are'} no JPEG, PNG or TIFF: "
            f"{_list_names(map(name_file, seen.scan_set.others))}.",
            about=str(len(seen.scan_set.others)),
        )


def _find_unmatched(seen: SeenScans) -> Iterator[Finding]:
    strangers = [scan for scan in seen.scan_set.scans if not scan.places]
    for key in dict.fromkeys(scan.volume for scan in strangers):
        names = [scan.name for scan in strangers if scan.volume == key]
        which = f"{count_of(len(names), 'scan')} {'shows' if len(names) == 1 else 'show'}"
        yield _of_key(
            SCAN_UNMATCHED,
            key,
            f"{which} nobody knows what: {_list_names(names)}.",
            about=",".join(_identify(scan) for scan in strangers if scan.volume == key),
        )


def _find_doubles(seen: SeenScans) -> Iterator[Finding]:
    for group in seen.identical:
        if len({(scan.volume, scan.places) for scan in group}) > 1:
            yield _of_scan(
                SCAN_IDENTICAL,
                group[0],
                f"{join_and(scan.name for scan in group)} are the same file, but should "
                f"show {join_and(map(_describe, group))}.",
                about=",".join(map(_identify, group)),
            )
    for group in seen.alike:
        if len({(scan.volume, scan.places) for scan in group}) > 1:
            yield _of_scan(
                SCAN_ALIKE,
                group[0],
                f"{_list_names(f'{scan.name} ({_describe(scan)})' for scan in group)} look the "
                "same.",
                about=",".join(map(_identify, group)),
            )


def _find_misplaced(
    volume: VolumeLog, scans: Sequence[Scan], evidence: Evidence
) -> Iterator[Finding]:
    views = find_views(volume, find_imaged_by(volume, evidence.imaged_by))
    known = {place for view in views for place in view}
    known |= {Place(leaf=place.leaf) for place in volume.places}
    extra = extra_views(volume)
    showing: dict[tuple[Place, ...], list[Scan]] = {}
    for scan in scans:
        if scan.places:
            showing.setdefault(scan.places, []).append(scan)
    for places, of_them in showing.items():
        names = [scan.name for scan in of_them]
        if not known.intersection((*places, Place(leaf=places[0].leaf))):
            yield _of_scan(
                SCAN_OUTSIDE_VOLUME,
                of_them[0],
                f"{_list_names(names)} should show {_describe(of_them[0])}, which "
                f"{volume.name} does not have by the log.",
                about=",".join(map(_identify, of_them)),
            )
        said = {number for place in places for one in volume.at(place) for number in one.images}
        # Details have numbers of their own, where somebody said them.
        allowed = max(1 + sum(extra.get(place, 0) for place in places), len(said))
        if len(of_them) > allowed:
            yield _of_scan(
                SCAN_TOO_MANY,
                of_them[0],
                f"{_capital(_describe(of_them[0]))} is shown by {_list_names(names)}; "
                f"{count_of(allowed, 'image')} {'was' if allowed == 1 else 'were'} expected.",
                about=",".join(map(_identify, of_them)),
            )
    on_disk = {scan.number for scan in scans}
    if on_disk != {None}:
        for entry in volume.entries:
            for number in entry.images:
                if number not in on_disk:
                    yield NUMBER_WITHOUT_SCAN.of_entry(
                        entry, f"Image {number} is not among the scans.", about=str(number)
                    )


def _find_odd(volume: VolumeLog, scans: Sequence[Scan], least_ppi: int) -> Iterator[Finding]:
    usual_px = median(scan.width_px * scan.height_px for scan in scans)
    in_colour = sum(scan.mode in _IN_COLOUR for scan in scans) * 2 >= len(scans)
    silent = [scan.name for scan in scans if scan.ppi is None]
    for scan in scans:
        name = scan.name
        if scan.width_px * scan.height_px < usual_px * _SMALL_SHARE:
            yield _of_scan(
                SCAN_SMALL,
                scan,
                f"{name} ({_describe(scan)}) has {scan.width_px} × {scan.height_px} pixels, "
                f"less than half of what is usual in {volume.name}.",
                about=_identify(scan),
            )
        if scan.ppi is not None and min(scan.ppi) + 0.5 < least_ppi:
            yield _of_scan(
                SCAN_RESOLUTION,
                scan,
                f"{name} ({_describe(scan)}) was made at {min(scan.ppi):.0f} pixels per inch by "
                f"its own tag; {least_ppi} are wanted.",
                about=f"{_identify(scan)},{least_ppi}",
            )
        if scan.mode not in _IN_COLOUR and (in_colour or scan.mode in _COLOUR_WORDS):
            how = _COLOUR_WORDS.get(scan.mode, "in grey")
            yield _of_scan(
                SCAN_COLOUR, scan, f"{name} ({_describe(scan)}) is {how}.", about=_identify(scan)
            )
    if silent:
        yield SCAN_WITHOUT_RESOLUTION.of_volume(
            volume,
            f"{count_of(len(silent), 'scan')} of {volume.name} "
            f"{'says' if len(silent) == 1 else 'say'} no resolution: {_list_names(silent)}.",
            about=str(len(silent)),
        )


def _find_unlike_log(
    volume: VolumeLog, scans: Sequence[Scan], seen: SeenScans
) -> Iterator[Finding]:
    for scan in scans:
        look = seen.looks.get(scan.path)
        if look is None or not scan.places:
            continue
        there = [entry for place in scan.places for entry in volume.at(place)]
        things = [
            one for one in there if one.kind is Kind.ITEM and "missing item" not in one.condition
        ]
        blanks = [one for one in there if one.blank]
        if look.seems_blank and things:
            count = count_of(len(things), "item")
            yield SCAN_LOOKS_BLANK.of_entries(
                things,
                f"{scan.name} looks blank, but {count} "
                f"{'is' if len(things) == 1 else 'are'} logged on {_describe(scan)}.",
                about=_identify(scan),
            )
        if look.seems_busy and blanks and not things and len(blanks) >= len(scan.places):
            yield SCAN_NOT_BLANK.of_entries(
                blanks,
                f"{scan.name} shows something, but {_describe(scan)} was said to be blank.",
                about=_identify(scan),
            )


def _of_scan(rule: Rule, scan: Scan, message: str, *, about: str) -> Finding:
    return _of_key(rule, scan.volume, message, about=about, places=scan.places)


def _of_key(
    rule: Rule,
    key: VolumeKey | None,
    message: str,
    *,
    about: str,
    places: tuple[Place, ...] = (),
) -> Finding:
    place = places[0] if places else None
    return Finding(
        code=rule.code,
        severity=rule.severity,
        message=message,
        remedy=rule.remedy,
        accession=None if key is None else key.accession,
        volume=None if key is None else key.volume,
        leaf=None if place is None else place.leaf,
        side=None if place is None else place.side,
        about=about,
    )


def _identify(scan: Scan) -> str:
    # Two folders may hold files of one name.
    return name_file(scan.path)


def _describe(scan: Scan) -> str:
    if not scan.places:
        return "place unknown"
    return join_and(
        describe_place(place) if place.number is not None else f"the {describe_place(place)}"
        for place in scan.places
    )


def _capital(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"


def _list_names(names: Iterable[str]) -> str:
    those = list(names)
    more = len(those) - _LISTED
    return join_and([*those[:_LISTED], *([f"{more} more"] if more > 0 else [])])


AMONG_SCANS = Comparison(
    rules=(SCAN_UNREADABLE, SCAN_UNMATCHED, SCAN_IDENTICAL, SCAN_ALIKE, SCAN_OTHER_FILES),
    find=find_among_scans,
)
SCAN_FILES = Check(
    rules=(
        SCAN_OUTSIDE_VOLUME,
        SCAN_TOO_MANY,
        NUMBER_WITHOUT_SCAN,
        SCAN_SMALL,
        SCAN_RESOLUTION,
        SCAN_WITHOUT_RESOLUTION,
        SCAN_COLOUR,
        SCAN_LOOKS_BLANK,
        SCAN_NOT_BLANK,
    ),
    find=find_in_scan_files,
    one_by_one=True,
)
