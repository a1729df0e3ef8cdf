"""The small parts of places: numbers and letters of leaves, and sides."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.domain.entry import Side
from voicelog.extraction.numbers.cardinals import Atom, read_atom, read_atoms, read_whole_number
from voicelog.extraction.numbers.words import RADIO_ALPHABET
from voicelog.extraction.tokens import Token

LEAF_WORDS = frozenset({"leaf", "folio"})
PAGE_WORDS = frozenset({"page", "pg"})
SIDE_WORDS = {"recto": Side.RECTO, "verso": Side.VERSO}
SIDE_LETTERS = {"r": Side.RECTO, "v": Side.VERSO}
# Letters that follow a leaf number when a leaf was put in between or counted twice.
LABEL_LETTERS = frozenset("abcdefgh")


def read_leaf_number(
    tokens: Sequence[Token], index: int, item_starts: frozenset[int] = frozenset()
) -> Atom | None:
    """Read a leaf's number; in "leaf one two postcards" the two counts the postcards."""
    if index >= len(tokens) or tokens[index].norm in {"oh", "zero"}:
        return None
    number = read_whole_number(tokens, index) or read_atom(tokens, index)
    if number is None or number.value == 0 or len(number.digits) > 4:
        return None
    atoms = [atom for atom in read_atoms(tokens, index) if atom.end <= number.end]
    if len(atoms) > 1 and number.end in item_starts:
        following = [word_at(tokens, at) for at in range(number.end, number.end + 3)]
        is_plural = any(word.endswith("s") and word.isalpha() for word in following)
        if is_plural or atoms[-1].digits == "1":
            return Atom("".join(atom.digits for atom in atoms[:-1]), atoms[-2].end)
    return number


def read_label_letter(
    tokens: Sequence[Token], index: int, item_starts: frozenset[int]
) -> tuple[str, int]:
    """Read the letter of "7A" or "seven alpha" after the number; an article is none."""
    if index >= len(tokens):
        return "", index
    token = tokens[index]
    if token.norm in RADIO_ALPHABET and len(token.norm) > 1:
        return RADIO_ALPHABET[token.norm], index + 1
    if token.norm not in LABEL_LETTERS:
        return "", index
    if token.glued:
        return token.norm.upper(), index + 1
    following = tokens[index + 1] if index + 1 < len(tokens) else None
    if token.norm == "a" and not token.text.isupper():
        is_article = index + 1 in item_starts or (
            following is not None
            and following.is_word
            and following.norm not in {*SIDE_WORDS, "blank", "is", "both", "an", "the", "a", "has"}
        )
        return ("", index) if is_article else ("A", index + 1)
    return token.norm.upper(), index + 1


def read_side(tokens: Sequence[Token], index: int) -> tuple[Side | None, int]:
    """Read a side after a leaf: "recto", ", verso", "the back", "v"."""
    at = index
    while word_at(tokens, at) in {",", "the", "on", "is", "its"}:
        at += 1
    word = word_at(tokens, at)
    if word in SIDE_WORDS:
        return SIDE_WORDS[word], at + 1
    if (
        at == index
        and word in SIDE_LETTERS
        and (tokens[at].glued or at + 1 >= len(tokens) or not tokens[at + 1].is_word)
    ):
        return SIDE_LETTERS[word], at + 1
    if word in {"front", "back"} and word_at(tokens, at + 1) in {"side", ",", ".", "", "blank"}:
        is_side = word_at(tokens, at + 1) == "side" or at == index
        if is_side:
            side = Side.RECTO if word == "front" else Side.VERSO
            return side, at + 1 + (word_at(tokens, at + 1) == "side")
    return None, index


def names_other_side(tokens: Sequence[Token], index: int, side: Side) -> bool:
    """Whether "and verso" follows a recto, so that the whole leaf is meant."""
    other = SIDE_WORDS.get(word_at(tokens, index + 1))
    return word_at(tokens, index) == "and" and other is not None and other is not side


def is_glued_label(tokens: Sequence[Token], start: int, end: int) -> bool:
    """Whether "7B" stands here: digits with one of the letters that labels use."""
    return (
        end == start + 1
        and tokens[start].norm.isdecimal()
        and end < len(tokens)
        and tokens[end].glued
        and tokens[end].norm in LABEL_LETTERS
    )


def match_words(
    tokens: Sequence[Token], start: int, words: tuple[str, ...], *, skip: frozenset[str]
) -> int | None:
    """Return the index after these words, between which words to skip may stand, or None."""
    if tokens[start].norm != words[0]:
        return None
    index = start + 1
    for word in words[1:]:
        while word_at(tokens, index) in skip and word_at(tokens, index) != word:
            index += 1
        if word_at(tokens, index) != word:
            return None
        index += 1
    return index


def word_at(tokens: Sequence[Token], index: int) -> str:
    """Return the token's form at ``index``, or "" outside the note."""
    return tokens[index].norm if 0 <= index < len(tokens) else ""
