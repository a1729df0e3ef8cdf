"""What is handed to a format: the entries that may leave, and what else it may need to know."""

from __future__ import annotations

from dataclasses import dataclass

from voicelog.checks.scans.scan_set import ScanSet
from voicelog.exports.crosswalk import Crosswalk
from voicelog.exports.selection import Selection
from voicelog.store.log import Log
from voicelog.vocabulary import Vocabulary


@dataclass(frozen=True, slots=True, kw_only=True)
class Consignment:
    """Everything that an export is made of.

    The same consignment always gives the same bytes: a format asks no clock and draws no lots.

    Attributes:
        log: the log, open for reading.
        selection: the entries that may leave, with their display numbers, in display order.
        as_of: when the log last changed, ISO 8601 in UTC; the date of whatever needs one.
        repository: the repository's name, or "".
        vocabulary: the terms, with links to published authorities where they have them.
        iiif_base_url: what the addresses in IIIF manifests begin with.
        crosswalk: where each field goes, and what stands beside it.
        scans: the images that may leave; None where none were named.
    """

    log: Log
    selection: Selection
    as_of: str
    repository: str
    vocabulary: Vocabulary
    iiif_base_url: str
    crosswalk: Crosswalk
    scans: ScanSet | None = None
