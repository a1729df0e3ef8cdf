"""Term lists made up for tests, and a way to compare what came back from a file."""

from __future__ import annotations

import string
from collections.abc import Iterable
from dataclasses import replace

from hypothesis import strategies as st

from voicelog.vocabulary import AuthorityMatch, Concept, TermField
from voicelog.vocabulary.term_lists import TermList

_LETTERS = st.characters(categories=("L", "N", "P", "S", "Zs"), exclude_characters="|")


def make_concept(term: str, *variants: str, **facts: object) -> Concept:
    """Return a condition of this name."""
    base: dict[str, object] = {
        "id": term.replace(" ", "-"),
        "field": TermField.CONDITION,
        "definition": "Made up for a test.",
    }
    return Concept(**{**base, "term": term, "variants": variants, **facts})  # type: ignore[arg-type]


def make_list(*concepts: Concept, origin: str = "ours.toml") -> TermList:
    """Return a list of these concepts."""
    return TermList(origin=origin, concepts=concepts)


def without_order(concepts: Iterable[Concept]) -> list[Concept]:
    """Return concepts as they compare where a form of file keeps no order."""
    return sorted(
        (
            replace(
                each,
                variants=tuple(sorted(each.variants)),
                cautions=tuple(sorted(each.cautions)),
            )
            for each in concepts
        ),
        key=lambda each: (each.field, each.id),
    )


def _tidy(text: str) -> str:
    return " ".join(text.split())


# A word keeps each text from being nothing but signs, which nobody could say.
_wordings = st.builds(
    lambda word, rest: _tidy(f"{word} {rest}"),
    st.text(string.ascii_letters, min_size=1, max_size=8),
    st.text(_LETTERS, max_size=20),
)
_authorities = st.sampled_from(
    [None, "http://vocab.getty.edu/aat/300046300", "https://tarnvalley.example/terms/1?a=b&c"]
)


@st.composite
def concepts(draw: st.DrawFn) -> Concept:
    """Draw a concept as a reader would give it: tidy, and no variant that is the term."""
    term = draw(_wordings)
    variants = draw(st.lists(_wordings, max_size=4, unique=True))
    authority = draw(_authorities)
    matches = st.sampled_from(AuthorityMatch)
    return Concept(
        id=draw(st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,12}", fullmatch=True)),
        field=draw(st.sampled_from(TermField)),
        term=term,
        variants=tuple(form for form in variants if form != term),
        definition=_tidy(draw(st.text(_LETTERS, max_size=40))),
        authority=authority,
        authority_match=draw(matches) if authority else AuthorityMatch.EXACT,
        cautions=tuple(draw(st.lists(st.sampled_from(["mould", "red-rot-dust"]), unique=True))),
    )


concept_lists = st.lists(concepts(), max_size=5, unique_by=lambda each: (each.field, each.id))
