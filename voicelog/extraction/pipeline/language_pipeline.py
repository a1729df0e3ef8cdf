"""The spaCy pipeline that puts marks on a note.

A blank English pipeline with three components of ours, in this order:

    voicelog_phrases   vocabulary terms and cues, by phrase matching
    voicelog_values    numbers, dates, sizes, places, enclosures, volumes, accession numbers
    voicelog_arbiter   the best set of marks that don't overlap

The tokens (with their place in the note) travel in ``doc.user_data``. Components are
registered by :func:`make_pipeline` and nowhere else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import spacy
from spacy.language import Language as SpacyLanguage
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.vocab import Vocab

from voicelog.extraction.language.phrases import Language
from voicelog.extraction.marks import Mark, MarkKind, choose_marks
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.pipeline.values import TermSpan, ValueGrammars
from voicelog.extraction.pipeline.volume_names import CueSpan
from voicelog.extraction.tokens import Token, tokenize
from voicelog.vocabulary import Concept, TermField, Vocabulary

TOKENS = "voicelog_tokens"
MARKS = "voicelog_marks"
KNOWN_NAMES = "voicelog_known_names"
_TERMS = "voicelog_terms"
_CUES = "voicelog_cues"

_CUE_WEIGHTS = {
    "fillers": 0.6,
    "continues": 0.62,
    "subject_leaf": 0.8,
    "subject_cover": 0.7,
    "degrees": 0.55,
    "damage_places": 0.75,
    "negation": 0.95,
}
_FIELD_WEIGHTS = {TermField.POSITION: 0.95, TermField.ENCLOSURE: 0.0}
_COPULAS = frozenset({"is", "are", "was", "were", "has", "have", "been", "'s", "got", "the"})
_MAY_HOLD_COPULA = frozenset(
    {TermField.CONDITION, TermField.ADHESION, TermField.ACTION, TermField.ATTACHMENT}
)
_COLOURED_SHEETS = frozenset({"paper", "pages", "leaves", "sheets", "stock"})


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundTerm:
    """The value of a TERM mark: the concepts that its words may stand for.

    Attributes:
        concepts: one per field; several where a wording fits more than one field.
        aside: (first, end) of words inside the mark that belong in the remark.
    """

    concepts: tuple[Concept, ...]
    aside: tuple[int, int] | None = None


class Phrases:
    """Finds vocabulary terms and cues in a note."""

    def __init__(self, vocab: Vocab, vocabulary: Vocabulary, language: Language) -> None:
        self._matcher = PhraseMatcher(vocab, attr="ORTH")
        self._concepts: dict[str, Concept] = {}
        self._vocab = vocab
        for number, concept in enumerate(vocabulary.concepts):
            key = f"term:{number}"
            self._concepts[key] = concept
            self._add(key, concept.forms())
        for name, wordings in language.cues.items():
            self._add(f"cue:{name}", wordings)
        for name in ("fillers", "degrees", "damage_places"):
            self._add(f"cue:{name}", tuple(language.words[name]))
        self._colours = language.words["colours"]
        self._coloured_paper = next(
            (one for one in vocabulary.concepts if one.term == "coloured paper"), None
        )

    def _add(self, key: str, wordings: Sequence[str]) -> None:
        docs: dict[tuple[str, ...], Doc] = {}
        for wording in wordings:
            words = tuple(token.norm for token in tokenize(wording))
            docs[words] = Doc(self._vocab, words=list(words))
        self._matcher.add(key, list(docs.values()))

    def __call__(self, doc: Doc) -> Doc:
        """Add the terms and cues found to the document."""
        strings = self._vocab.strings
        terms: list[TermSpan] = []
        cues: list[CueSpan] = []
        for match_id, first, end in self._matcher(doc):
            key = strings[match_id]
            if key.startswith("term:"):
                terms.append(TermSpan(concept=self._concepts[key], first=first, end=end))
            else:
                cues.append(CueSpan(name=key[4:], first=first, end=end))
        terms += self._across_copulas(doc)
        doc.user_data[_TERMS] = terms
        doc.user_data[_CUES] = cues
        doc.user_data[MARKS] = [*_term_marks(terms), *self._coloured(doc), *_cue_marks(cues)]
        return doc

    def _across_copulas(self, doc: Doc) -> list[TermSpan]:
        """Find terms with "is", "has" or the like inside: "the corner is missing"."""
        tokens: Sequence[Token] = doc.user_data[TOKENS]
        kept = [
            at
            for at, token in enumerate(tokens)
            if (token.norm not in _COPULAS and token.norm not in self._colours)
            or (at and tokens[at - 1].norm == "let")
        ]
        if len(kept) == len(tokens) or len(kept) < 2:
            return []
        shorter = Doc(self._vocab, words=[tokens[at].norm for at in kept])
        found: list[TermSpan] = []
        for match_id, first, end in self._matcher(shorter):
            start, last = kept[first], kept[end - 1]
            key = self._vocab.strings[match_id]
            if key.startswith("term:") and last - start + 1 > end - first:
                concept = self._concepts[key]
                if concept.field in _MAY_HOLD_COPULA:
                    found.append(TermSpan(concept=concept, first=start, end=last + 1))
        return found

    def _coloured(self, doc: Doc) -> list[Mark]:
        """Find "beige paper": a support whose colour goes to the remark."""
        if self._coloured_paper is None:
            return []
        tokens: Sequence[Token] = doc.user_data[TOKENS]
        marks: list[Mark] = []
        for index, token in enumerate(tokens[1:], start=1):
            if token.norm not in _COLOURED_SHEETS or tokens[index - 1].norm not in self._colours:
                continue
            first = index - 1
            if index > 1 and tokens[index - 2].norm in {"dark", "light", "pale", "deep"}:
                first -= 1
            # "black card stock" is card stock; only paper is coloured paper.
            end = index + 1
            found = FoundTerm(concepts=(self._coloured_paper,), aside=(first, index))
            marks.append(Mark(kind=MarkKind.TERM, first=first, end=end, value=found, weight=0.99))
        return marks


def _term_marks(terms: Sequence[TermSpan]) -> list[Mark]:
    together: dict[tuple[int, int], list[Concept]] = {}
    for term in terms:
        together.setdefault((term.first, term.end), []).append(term.concept)
    marks: list[Mark] = []
    for (first, end), concepts in together.items():
        weight = max(_FIELD_WEIGHTS.get(concept.field, 1.0) for concept in concepts)
        if weight:
            found = FoundTerm(concepts=tuple(concepts))
            marks.append(Mark(kind=MarkKind.TERM, first=first, end=end, value=found, weight=weight))
    return marks


def _cue_marks(cues: Sequence[CueSpan]) -> list[Mark]:
    return [
        Mark(
            kind=MarkKind.CUE,
            first=cue.first,
            end=cue.end,
            value=cue.name,
            weight=_CUE_WEIGHTS.get(cue.name, 1.02),
        )
        for cue in cues
        if _CUE_WEIGHTS.get(cue.name, 1.02)
    ]


class Values:
    """Adds what the value grammars read."""

    def __init__(self, options: ReadingOptions) -> None:
        self._grammars = ValueGrammars(options)

    def __call__(self, doc: Doc) -> Doc:
        """Add candidate marks for every value in the document."""
        marks: list[Mark] = doc.user_data[MARKS]
        marks += self._grammars.find_marks(
            doc.user_data[TOKENS],
            doc.user_data[_TERMS],
            doc.user_data[_CUES],
            doc.user_data.get(KNOWN_NAMES, ()),
        )
        return doc


class Arbiter:
    """Keeps the best marks that don't overlap."""

    def __call__(self, doc: Doc) -> Doc:
        """Replace the candidates by the marks chosen, in order."""
        doc.user_data[MARKS] = choose_marks(doc.user_data[MARKS], len(doc))
        return doc


def make_pipeline(
    vocabulary: Vocabulary, language: Language, options: ReadingOptions
) -> SpacyLanguage:
    """Return the pipeline; documents are made with :func:`make_doc`."""
    nlp = spacy.blank("en")
    phrases = Phrases(nlp.vocab, vocabulary, language)
    values = Values(options)
    arbiter = Arbiter()
    components: dict[str, Any] = {
        "voicelog_phrases": phrases,
        "voicelog_values": values,
        "voicelog_arbiter": arbiter,
    }
    for name, component in components.items():
        SpacyLanguage.component(name, func=component)
        nlp.add_pipe(name)
    return nlp


def make_doc(
    nlp: SpacyLanguage, tokens: Sequence[Token], known_names: Sequence[tuple[str, ...]]
) -> Doc:
    """Return an unread document over the tokens of a note."""
    doc = Doc(nlp.vocab, words=[token.norm for token in tokens])
    doc.user_data[TOKENS] = tokens
    doc.user_data[KNOWN_NAMES] = known_names
    return doc
