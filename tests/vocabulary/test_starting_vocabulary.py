"""The shipped vocabulary holds the project's starting vocabulary, and nothing contradicts it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from voicelog.vocabulary import TermField, Vocabulary, load_vocabulary
from voicelog.vocabulary.combining import find_problems
from voicelog.vocabulary.concepts import heard_of
from voicelog.vocabulary.loading import load_cautions, load_shipped_lists

REFERENCE = Path(__file__).parents[1] / "reference"
STARTING = tomllib.loads((REFERENCE / "starting_vocabulary.toml").read_text(encoding="utf-8"))
LINKS = tomllib.loads((REFERENCE / "authority_links.toml").read_text(encoding="utf-8"))
AAT = "http://vocab.getty.edu/aat/"


@pytest.fixture(scope="module")
def vocabulary() -> Vocabulary:
    return load_vocabulary()


@pytest.mark.parametrize("field", TermField)
def test_every_starting_term_and_variant_is_there(vocabulary: Vocabulary, field: TermField) -> None:
    """Source: tests/reference/starting_vocabulary.toml, the project's starting vocabulary."""
    for term, variants in STARTING[field].items():
        concept = vocabulary.find(field, term)
        assert concept is not None, term
        for variant in variants:
            assert heard_of(variant) in concept.wordings(), (term, variant)


def test_the_starting_vocabulary_names_every_field() -> None:
    """A field that the table left out would be checked by nothing."""
    assert set(STARTING) == set(TermField)


def test_nothing_is_wrong_with_the_shipped_lists() -> None:
    """No collision, no unknown caution, no term without a definition."""
    assert list(find_problems(load_shipped_lists(), cautions=load_cautions())) == []


def test_every_caution_is_reached_or_derived(vocabulary: Vocabulary) -> None:
    """A caution that no concept names must be one that is worked out from other facts."""
    named = {caution for concept in vocabulary.concepts for caution in concept.cautions}
    assert set(vocabulary.cautions) - named == {"arsenic-pigment", "heavy-box"}


def test_every_authority_link_was_seen_and_carries_a_name_of_its_concept(
    vocabulary: Vocabulary,
) -> None:
    """Source: labels read in stored files, tests/reference/authority_links.toml.

    The label must be something that people say for the concept, so that no identifier is
    that of another term.
    """
    linked = [concept for concept in vocabulary.concepts if concept.authority]
    assert len(linked) >= 25
    for concept in linked:
        assert concept.authority is not None
        label = LINKS["labels"][concept.authority.removeprefix(AAT)]["label"]
        name = re.sub(r" ?\([^)]*\)", "", label)
        assert heard_of(name) in concept.wordings(), (concept.term, label)


def test_no_authority_is_linked_twice(vocabulary: Vocabulary) -> None:
    """Two of our concepts can't be the same as one of theirs."""
    links = [concept.authority for concept in vocabulary.concepts if concept.authority]
    assert len(links) == len(set(links))


def test_terms_that_were_seen_nowhere_have_no_link(vocabulary: Vocabulary) -> None:
    """An identifier from memory is worse than none."""
    by_term = {concept.term: concept for concept in vocabulary.concepts}
    for term in LINKS["not_seen"]:
        assert by_term[term].authority is None


@pytest.mark.parametrize("trap", LINKS["trap"], ids=lambda trap: trap["id"])
def test_errors_of_stored_files_are_not_repeated(
    vocabulary: Vocabulary, trap: dict[str, str]
) -> None:
    """Each was met in a file of others."""
    concept = vocabulary.find(TermField.ITEM_TYPE, trap["given_to"])
    assert concept is not None
    assert concept.authority != AAT + trap["id"]


def test_broader_and_closer_concepts_are_said_to_be_that(vocabulary: Vocabulary) -> None:
    """The authority's "clippings" are more than newspaper clippings."""
    clipping = vocabulary.find(TermField.ITEM_TYPE, "newspaper clipping")
    postcard = vocabulary.find(TermField.ITEM_TYPE, "postcard")
    assert clipping is not None
    assert postcard is not None
    assert (clipping.authority_match, postcard.authority_match) == ("broad", "exact")
