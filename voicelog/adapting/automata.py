"""Weighted automata in the files of OpenFst, as vosk reads them.

An automaton is a set of numbered states; an arc has an input, an output (0: none), a cost and the
state it leads to. Of OpenFst's forms two are read and written: ``const``, and ``olabel_lookahead``,
which is a ``const`` one with a list behind it of what can be said next from each state. The layouts
are those of OpenFst 1.7 and 1.8 (const-fst.h, add-on.h, label-reachable.h;
https://www.openfst.org); every number is little-endian.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

Arc = tuple[int, int, float, int]
"""Input, output, cost, and the state that the arc leads to."""

ARC = np.dtype([("input", "<i4"), ("output", "<i4"), ("cost", "<f4"), ("target", "<i4")])
_STATE = np.dtype(
    [
        ("final", "<f4"),
        ("first", "<u4"),
        ("arcs", "<u4"),
        ("inputless", "<u4"),
        ("outputless", "<u4"),
    ]
)

_MAGIC = 2125659606
_ADD_ON_MAGIC = 446681434
_CONST_VERSION, _ADD_ON_VERSION = 2, 1

# Bits of properties.h; what is not claimed is looked up by OpenFst when it matters.
EXPANDED = 0x1
ACCEPTOR, NOT_ACCEPTOR = 0x10000, 0x20000
SORTED_BY_INPUT, SORTED_BY_OUTPUT = 0x10000000, 0x40000000


@dataclass(frozen=True, slots=True, kw_only=True)
class Automaton:
    """States and arcs in arrays.

    Attributes:
        start: the state that everything begins in.
        finals: shape (states,): what ending in a state costs, infinite where none may end.
        first: shape (states + 1,): where each state's arcs begin in ``arcs``, and their end.
        arcs: all arcs, of the type ``ARC``.
    """

    start: int
    finals: npt.NDArray[np.float32]
    first: npt.NDArray[np.int64]
    arcs: npt.NDArray[np.void]

    def arcs_of(self, state: int) -> npt.NDArray[np.void]:
        """Return the arcs that leave a state."""
        return self.arcs[self.first[state] : self.first[state + 1]]

    def sorted_by(self, name: str) -> Automaton:
        """Return the same automaton, each state's arcs sorted by "input" or "output"."""
        states = np.repeat(np.arange(len(self.finals)), np.diff(self.first))
        order = np.lexsort((self.arcs[name], states))
        return Automaton(
            start=self.start, finals=self.finals, first=self.first, arcs=self.arcs[order]
        )


def make_automaton(
    start: int, arcs: Sequence[Iterable[Arc]], finals: Mapping[int, float]
) -> Automaton:
    """Return an automaton with as many states as there are collections of arcs.

    Args:
        start: the state that everything begins in.
        arcs: the arcs that leave each state.
        finals: what ending costs, for the states in which something may end.
    """
    costs = np.full(len(arcs), np.inf, np.float32)
    for state, cost in finals.items():
        costs[state] = cost
    listed = [list(leaving) for leaving in arcs]
    first = np.concatenate([[0], np.cumsum([len(leaving) for leaving in listed], dtype=np.int64)])
    together = np.array([arc for leaving in listed for arc in leaving], dtype=ARC)
    return Automaton(start=start, finals=costs, first=first, arcs=together)


def read_automaton(path: Path) -> Automaton:
    """Return the automaton of a file, of either form.

    Raises:
        OSError: the file can't be read.
        ValueError: it is cut short or not of that kind.
    """
    try:
        return _read(memoryview(path.read_bytes()))
    except (struct.error, UnicodeDecodeError) as failure:
        raise ValueError(f"{path.name} is not an automaton or is cut short") from failure


def _read(data: memoryview) -> Automaton:
    kind, _, at = _read_header(data, 0)
    if kind == "olabel_lookahead":
        kind, numbers, at = _read_header(data, at + 4)
    else:
        kind, numbers, at = _read_header(data, 0)
    start, state_count, arc_count = numbers
    if kind != "const" or not 0 <= start < state_count:
        raise ValueError(f"an automaton of the form {kind!r} can't be read here")
    states = np.frombuffer(data, _STATE, state_count, at)
    arcs = np.frombuffer(data, ARC, arc_count, at + states.nbytes)
    first = np.append(states["first"].astype(np.int64), arc_count)
    lengths = np.diff(first)
    if (lengths != states["arcs"]).any() or (arc_count and not _lead_inside(arcs, state_count)):
        raise ValueError("its arcs don't fit its states")
    return Automaton(start=start, finals=states["final"].copy(), first=first, arcs=arcs.copy())


def _lead_inside(arcs: npt.NDArray[np.void], state_count: int) -> bool:
    targets = arcs["target"]
    return bool(targets.min() >= 0 and targets.max() < state_count)


def _read_header(data: memoryview, at: int) -> tuple[str, tuple[int, int, int], int]:
    """Return the form, the start with the counts of states and arcs, and where the header ends."""
    (magic,) = struct.unpack_from("<i", data, at)
    if magic != _MAGIC:
        raise ValueError("it does not begin as an automaton does")
    at += 4
    names = []
    for _ in range(2):
        (length,) = struct.unpack_from("<i", data, at)
        names.append(bytes(data[at + 4 : at + 4 + length]).decode("ascii"))
        at += 4 + length
    *_, start, states, arcs = struct.unpack_from("<iiQqqq", data, at)
    return names[0], (start, states, arcs), at + struct.calcsize("<iiQqqq")


def write_const(automaton: Automaton, path: Path, *, properties: int) -> None:
    """Write the plain form.

    Args:
        automaton: what to write.
        path: the file.
        properties: what is known of it, of the bits above.

    Raises:
        OSError: the file can't be written.
    """
    with path.open("wb") as stream:
        _write_const(automaton, stream, properties=properties)


def write_look_ahead(
    automaton: Automaton,
    path: Path,
    *,
    final_number: int,
    ahead: Sequence[Sequence[tuple[int, int]]],
) -> None:
    """Write the form from which every state says what outputs can come next.

    Args:
        automaton: sorted by output.
        path: the file.
        final_number: the number that stands for "may end here" among the outputs.
        ahead: for each state the outputs that can come next, as ranges: the first number, and the
            one behind the last; in order, without overlaps.

    Raises:
        OSError: the file can't be written.
    """
    properties = EXPANDED | NOT_ACCEPTOR | SORTED_BY_OUTPUT
    with path.open("wb") as stream:
        _write_header(
            stream,
            "olabel_lookahead",
            version=_ADD_ON_VERSION,
            properties=properties,
            numbers=(-1, 0, 0),
        )
        stream.write(struct.pack("<i", _ADD_ON_MAGIC))
        _write_const(automaton, stream, properties=properties)
        # An add-on follows; of its two parts, for inputs and outputs, the second alone; it is about
        # outputs, and keeps no list of new numbers.
        stream.write(bytes([1, 0, 1, 0, 0]))
        stream.write(struct.pack("<iq", final_number, len(ahead)))
        for ranges in ahead:
            stream.write(struct.pack("<q", len(ranges)))
            stream.write(np.array(ranges, dtype="<i4").tobytes())
            stream.write(struct.pack("<i", sum(end - begin for begin, end in ranges)))


def _write_const(automaton: Automaton, stream: BinaryIO, *, properties: int) -> None:
    states = np.zeros(len(automaton.finals), _STATE)
    states["final"] = automaton.finals
    states["first"] = automaton.first[:-1]
    states["arcs"] = np.diff(automaton.first)
    owners = np.repeat(np.arange(len(states)), states["arcs"])
    for name, silent in (("inputless", "input"), ("outputless", "output")):
        states[name] = np.bincount(owners[automaton.arcs[silent] == 0], minlength=len(states))
    numbers = (automaton.start, len(states), len(automaton.arcs))
    _write_header(stream, "const", version=_CONST_VERSION, properties=properties, numbers=numbers)
    stream.write(states.tobytes())
    stream.write(automaton.arcs.tobytes())


def _write_header(
    stream: BinaryIO, kind: str, *, version: int, properties: int, numbers: tuple[int, int, int]
) -> None:
    stream.write(struct.pack("<i", _MAGIC))
    stream.writelines(
        struct.pack("<i", len(name)) + name.encode("ascii") for name in (kind, "standard")
    )
    stream.write(struct.pack("<iiQqqq", version, 0, properties, *numbers))
