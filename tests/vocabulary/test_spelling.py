"""British and American spelling: both are heard, one is shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.vocabulary import TermField, load_vocabulary
from voicelog.vocabulary.inflection import (
    in_american,
    in_british,
    plural_forms,
    spelling_variants,
)


@pytest.mark.parametrize(
    ("british", "american"),
    [
        ("colour photograph", "color photograph"),
        ("discoloured support", "discolored support"),
        ("grey mould", "gray mold"),
        ("mouldy", "moldy"),
        ("theatre programmes", "theater programs"),
        ("upper centre", "upper center"),
        ("centred", "centered"),
        ("pencilled", "penciled"),
        ("labelled", "labeled"),
        ("plasticiser residue", "plasticizer residue"),
        ("vinegar odour", "vinegar odor"),
        ("Party favour", "Party favor"),
        ("digitised", "digitized"),
    ],
)
def test_words_go_both_ways(british: str, american: str) -> None:
    """Common usage, from memory; no published source."""
    assert in_american(british) == american
    assert in_british(american) == british
    assert in_american(american) == american
    assert in_british(british) == british


@pytest.mark.parametrize("word", ["greyhound", "programmed", "concentrate", "moulder", "grayling"])
def test_longer_words_are_left_alone(word: str) -> None:
    """A word that only begins like one of ours is another word."""
    assert spelling_variants(word) == (word,)


def test_mixed_spellings_are_heard() -> None:
    """A recogniser may write one word this way and the next one that way."""
    assert set(spelling_variants("grey mould")) == {
        "grey mould",
        "grey mold",
        "gray mould",
        "gray mold",
    }


def test_every_term_is_heard_in_american_spelling() -> None:
    """Whatever a term file lists."""
    for concept in load_vocabulary().concepts:
        assert in_american(concept.term) in concept.forms()


def test_only_the_listed_terms_change_their_spelling() -> None:
    """Guards against a rule that reaches further than meant; written down by hand."""
    changed = {
        concept.term: in_american(concept.term)
        for concept in load_vocabulary().concepts
        if in_american(concept.term) != concept.term
    }
    assert changed == {
        "labelled": "labeled",
        "colour shift": "color shift",
        "mould": "mold",
        "vinegar odour": "vinegar odor",
        "plasticiser residue": "plasticizer residue",
        "discoloured support": "discolored support",
        "colour photograph": "color photograph",
        "programme": "program",
        "party favour": "party favor",
        "upper centre": "upper center",
        "centre left": "center left",
        "centre": "center",
        "centre right": "center right",
        "lower centre": "lower center",
        "coloured paper": "colored paper",
    }


@given(st.text(max_size=60))
def test_any_text_can_be_respelt(text: str) -> None:
    """Nothing breaks, and American spelling holds still."""
    assert in_american(in_american(text)) == in_american(text)
    assert text in spelling_variants(text)


def test_spellings_of_a_long_text_stay_few() -> None:
    """Without a limit, twenty such words would give a million wordings."""
    assert len(spelling_variants("colour " * 20)) == 2**4


@pytest.mark.parametrize(
    ("one", "many"),
    [
        ("postcard", ("postcards",)),
        ("box", ("boxes",)),
        ("obituary", ("obituaries",)),
        ("lock of hair", ("locks of hair",)),
        ("newspaper clipping", ("newspaper clippings",)),
        ("photo corners", ()),
        ("laid in", ()),
    ],
)
def test_plurals(one: str, many: tuple[str, ...]) -> None:
    """Of nouns; a plural or a participle has none."""
    assert plural_forms(one) == many


def test_fields_of_things_have_plurals_and_fields_of_facts_have_none() -> None:
    """Nobody says "brittles"."""
    vocabulary = load_vocabulary()
    postcard = vocabulary.find(TermField.ITEM_TYPE, "postcard")
    brittle = vocabulary.find(TermField.CONDITION, "brittle")
    assert postcard is not None
    assert brittle is not None
    assert "postcards" in postcard.forms()
    assert "brittles" not in brittle.forms()
