"""Term lists as data files, their loader, and the cautions that go with them."""

from voicelog.vocabulary.concepts import (
    Caution,
    Concept,
    TermField,
    Vocabulary,
    check_collisions,
    load_vocabulary,
    parse_terms,
    read_terms,
)

__all__ = [
    "Caution",
    "Concept",
    "TermField",
    "Vocabulary",
    "check_collisions",
    "load_vocabulary",
    "parse_terms",
    "read_terms",
]
