"""The phones of the model, and how Kaldi numbers them.

The 39 phones are those of the CMU pronouncing dictionary, without stress, and silence.
In the graph a phone also says where in its word it stands (begin, end, inside, single),
so that vosk can tell where words begin; the sound of a phone does not depend on that.
"""

from __future__ import annotations

from collections.abc import Sequence

SILENCE = "SIL"
PHONES: tuple[str, ...] = (
    SILENCE,
    *("AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F", "G", "HH"),
    *("IH", "IY", "JH", "K", "L", "M", "N", "NG", "OW", "OY", "P", "R", "S", "SH", "T", "TH"),
    *("UH", "UW", "V", "W", "Y", "Z", "ZH"),
)
"""Silence first; the place in this list is the phone's number in the network's outputs."""

NUMBER_OF = {phone: number for number, phone in enumerate(PHONES)}

POSITIONS = ("B", "E", "I", "S")
_POSITION_NAMES = {"B": "begin", "E": "end", "I": "internal", "S": "singleton"}

GRAPH_PHONES: tuple[str, ...] = (
    SILENCE,
    *(f"{phone}_{position}" for phone in PHONES[1:] for position in POSITIONS),
)
"""The phones of the graph; the first has the number 1, since 0 is no phone at all."""

GRAPH_NUMBER_OF = {phone: number for number, phone in enumerate(GRAPH_PHONES, start=1)}


def sound_of(graph_phone: int) -> int:
    """Return which of :data:`PHONES` a phone of the graph is."""
    return NUMBER_OF[GRAPH_PHONES[graph_phone - 1].split("_")[0]]


def in_word(phones: Sequence[str]) -> list[int]:
    """Return the graph phones of a whole word.

    >>> [GRAPH_PHONES[number - 1] for number in in_word(["L", "IY", "F"])]
    ['L_B', 'IY_I', 'F_E']
    """
    if len(phones) == 1:
        return [GRAPH_NUMBER_OF[f"{phones[0]}_S"]]
    named = [f"{phones[0]}_B", *(f"{phone}_I" for phone in phones[1:-1]), f"{phones[-1]}_E"]
    return [GRAPH_NUMBER_OF[phone] for phone in named]


def ends_word(graph_phone: int) -> bool:
    """Return whether a phone of the graph is the last of its word."""
    return GRAPH_PHONES[graph_phone - 1][-2:] in {"_E", "_S"}


def phone_lines() -> str:
    """Return ``phones.txt``: every graph phone with its number."""
    lines = (f"{phone} {number}\n" for number, phone in enumerate(GRAPH_PHONES, start=1))
    return f"<eps> 0\n{''.join(lines)}"


def word_boundary_lines() -> list[str]:
    """Return the lines of ``word_boundary.int``: what each graph phone is in its word."""
    return [
        f"{number} {'nonword' if phone == SILENCE else _POSITION_NAMES[phone[-1]]}"
        for number, phone in enumerate(GRAPH_PHONES, start=1)
    ]


def pdf_forward(left: int, phone: int) -> int:
    """Return the output that scores entering a phone after another one."""
    return 2 * (left * len(PHONES) + phone)


def pdf_loop(left: int, phone: int) -> int:
    """Return the output that scores staying in a phone."""
    return pdf_forward(left, phone) + 1


OUTPUTS = 2 * len(PHONES) ** 2
"""One pair of outputs for every phone after every other one."""


# How Kaldi's transition model numbers what can happen in a phone of the graph after another phone;
# the tuples are sorted by the graph phone. Two transitions for each, counted from 1.

TRANSITIONS = 2 * len(GRAPH_PHONES) * len(PHONES)


def loop_transition(graph_phone: int, left: int) -> int:
    """Return the transition that stays in a phone after another one."""
    return 2 * ((graph_phone - 1) * len(PHONES) + left) + 1


def forward_transition(graph_phone: int, left: int) -> int:
    """Return the transition that passes through a phone after another one."""
    return loop_transition(graph_phone, left) + 1


def phone_of(forward: int) -> int:
    """Return the graph phone that a forward transition passes through."""
    return (forward // 2 - 1) // len(PHONES) + 1


def is_forward(transition: int) -> bool:
    """Return whether a label of the graph is a forward transition, neither loop nor mark."""
    return 0 < transition <= TRANSITIONS and transition % 2 == 0
