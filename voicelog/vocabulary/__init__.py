"""Term lists as data files, their loader, and the cautions that go with them."""

from voicelog.vocabulary.concepts import (
    AuthorityMatch,
    Caution,
    Concept,
    TermField,
    Vocabulary,
)
from voicelog.vocabulary.loading import load_vocabulary

__all__ = [
    "AuthorityMatch",
    "Caution",
    "Concept",
    "TermField",
    "Vocabulary",
    "load_vocabulary",
]
