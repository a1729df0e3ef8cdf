"""The keys of the work list, as the help shows them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """What a key does."""

    keys: tuple[str, ...]
    does: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyGroup:
    """Keys that belong together."""

    title: str
    keys: tuple[Key, ...]


KEY_GROUPS: tuple[KeyGroup, ...] = (
    KeyGroup(
        title="Going",
        keys=(
            Key(keys=("↓", "↑"), does="next row, row before"),
            Key(keys=("→", "←"), does="next value, value before"),
            Key(keys=("d", "Shift d"), does="next doubtful row, the one before"),
            Key(keys=("n", "p"), does="next leaf, leaf before"),
            Key(keys=("PageDown", "PageUp"), does="next page of the list, page before"),
            Key(keys=("o",), does="doubtful first, or in the order of the volume"),
            Key(keys=("/",), does="find entries by their words"),
            Key(keys=("m",), does="to the leaf map; arrows go through it, Enter goes there"),
        ),
    ),
    KeyGroup(
        title="Hearing",
        keys=(
            Key(keys=("Space",), does="the words behind the value; again: stop"),
            Key(keys=("w",), does="the whole note"),
            Key(keys=("r",), does="repeat until stopped"),
            Key(keys=(",", "."), does="slower, faster"),
            Key(keys=("b",), does="a little before and after"),
            Key(keys=("y",), does="the note as another recogniser hears it"),
        ),
    ),
    KeyGroup(
        title="Deciding",
        keys=(
            Key(keys=("c",), does="the row is right: confirm it and go on"),
            Key(keys=("l",), does="confirm all undoubted rows of this leaf and go on"),
            Key(keys=("Shift v",), does="confirm all undoubted rows of this volume"),
            Key(keys=("Enter",), does="change the value; Enter saves, Esc leaves it"),
            Key(keys=("1", "…", "9"), does="take the reading offered under the row"),
            Key(keys=("e",), does="give another field a value"),
            Key(keys=("a",), does="change all entries that carry this value"),
            Key(keys=("x",), does="void the row, or bring it back"),
            Key(keys=("k",), does="remember that a word was misheard, when it is offered"),
            Key(keys=("z",), does="open a confirmed row again"),
            Key(keys=("u",), does="undo the last change of this session"),
        ),
    ),
    KeyGroup(
        title="Rows",
        keys=(
            Key(keys=("s",), does="split the row in two"),
            Key(keys=("j",), does="join it with the row before"),
            Key(keys=("Alt ↑", "Alt ↓"), does="move it up or down on its side"),
            Key(keys=("t",), does="take it to another leaf"),
            Key(keys=("i",), does="add an entry by typing"),
            Key(keys=("h",), does="history of the row"),
            Key(keys=("?",), does="these keys"),
        ),
    ),
)
