"""The crosswalk: which field goes where in each format, and the fixed texts beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from voicelog.domain.entry import RECORD_FIELDS

NOWHERE = "none"
FIELDS: tuple[str, ...] = tuple(name for name in RECORD_FIELDS if name not in {"entry", "kind"})
"""The fields that a crosswalk speaks of; number and kind show in the order and the level."""


class Level(StrEnum):
    """How far down the components of a finding aid go."""

    VOLUME = "volume"
    LEAF = "leaf"
    ITEM = "item"


@dataclass(frozen=True, slots=True, kw_only=True)
class RepositoryCodes:
    """By which codes the repository and its rules are known."""

    marc_code: str
    isil: str
    language: str
    rules: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Texts:
    """Sentences that stand in every record of their kind."""

    unconfirmed: str
    restricted: str
    terms_of_use: str
    description: str
    volume_title: str
    no_volume_title: str
    item_title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessionFacts:
    """What is known of an accession beyond the log; "" where nothing is."""

    title: str = ""
    source: str = ""
    method: str = ""
    date: str = ""
    custodial_history: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ActionTerm:
    """What an action is called in MARC 21 field 583.

    Attributes:
        term: $a.
        list: $2, the code of the list that the term is from, or "" for a term of one's own.
        method: $i, in which ``{enclosure}`` stands for the enclosures, or "".
    """

    term: str
    list: str = ""
    method: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FormTerm:
    """What the volumes are, for MARC 21 field 655: $a, $2 and $0; "" where there is none."""

    term: str
    list: str
    address: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Crosswalk:
    """Where everything goes.

    Attributes:
        repository: codes.
        texts: fixed sentences.
        accessions: facts about accessions, by their number.
        labels: the words before a value, by field.
        places: format, then field, then place; :data:`NOWHERE` for what is left out.
        levels: how far down components go, by format.
        actions: 583 terms, by action.
        form: the 655 term of volumes.
    """

    repository: RepositoryCodes
    texts: Texts
    accessions: Mapping[str, AccessionFacts]
    labels: Mapping[str, str]
    places: Mapping[str, Mapping[str, str]]
    levels: Mapping[str, Level]
    actions: Mapping[str, ActionTerm]
    form: FormTerm

    def place(self, format_name: str, field: str) -> str:
        """Return where a field goes in a format, or :data:`NOWHERE`."""
        return self.places[format_name][field]

    def accession(self, number: str | None) -> AccessionFacts:
        """Return what is known of an accession."""
        return self.accessions.get(number or "", AccessionFacts())
