"""What can be said next: for every state of an automaton, the outputs that may come first from it.

vosk composes sounds with the language model as it goes, and looks ahead so that it follows no path
whose word the language model does not expect there. Outputs are given new numbers, so that those
that come next from a state lie side by side and a few ranges name them all. Allauzen, Riley and
Schalkwyk, "A generalized composition algorithm for weighted finite-state transducers"
(Interspeech 2009).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from voicelog.adapting.automata import Automaton

Ranges = tuple[tuple[int, int], ...]
_END = -1
"""Stands for "may end here" among the outputs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAhead:
    """New numbers for outputs, and which of them come next.

    Attributes:
        number_of: output to its new number, from 1.
        final_number: the number that says that something may end.
        ahead: for each state the new numbers that may come next.
    """

    number_of: dict[int, int]
    final_number: int
    ahead: tuple[Ranges, ...]


def look_ahead(automaton: Automaton) -> LookAhead:
    """Return what comes next from every state, along arcs that say nothing."""
    silent, said = _split(automaton)
    met, groups = _groups(automaton.start, silent)
    # In the order in which they are met, what follows a state gets numbers side by side.
    outputs = dict.fromkeys(output for state in met for output in said[state])
    number_of = {output: number for number, output in enumerate(outputs, start=1)}
    ahead: list[Ranges] = [()] * len(silent)
    for group in groups:
        direct = {number_of[output] for state in group for output in said[state]}
        beyond = {target for state in group for target in silent[state]}.difference(group)
        farther = (span for target in beyond for span in ahead[target])
        merged = _merge([*((number, number + 1) for number in direct), *farther])
        for state in group:
            ahead[state] = merged
    return LookAhead(final_number=number_of.pop(_END), number_of=number_of, ahead=tuple(ahead))


def _split(automaton: Automaton) -> tuple[list[list[int]], list[list[int]]]:
    """Return for each state where its silent arcs lead, and what its others say."""
    silent: list[list[int]] = [[] for _ in automaton.finals]
    said: list[list[int]] = [[] for _ in automaton.finals]
    outputs, targets = automaton.arcs["output"].tolist(), automaton.arcs["target"].tolist()
    first = automaton.first.tolist()
    for state in range(len(silent)):
        for place in range(first[state], first[state + 1]):
            if outputs[place]:
                said[state].append(outputs[place])
            else:
                silent[state].append(targets[place])
    for state in (automaton.finals < float("inf")).nonzero()[0].tolist():
        said[state].append(_END)
    return silent, said


def _groups(start: int, leads_to: Sequence[Sequence[int]]) -> tuple[list[int], list[list[int]]]:
    """Return the states in the order they are met, and which of them lead back to one another.

    Each group comes after all that it leads to. Tarjan's algorithm (SIAM Journal on Computing 1,
    1972), without recursion.
    """
    entered: dict[int, int] = {}
    lowest: dict[int, int] = {}
    path: list[int] = []
    on_path: set[int] = set()
    groups: list[list[int]] = []
    work: list[tuple[int, Iterator[int]]] = []

    def enter(state: int) -> None:
        entered[state] = lowest[state] = len(entered)
        path.append(state)
        on_path.add(state)
        work.append((state, iter(leads_to[state])))

    for root in (start, *range(len(leads_to))):
        if root not in entered:
            enter(root)
        while work:
            state, targets = work[-1]
            target = next(targets, None)
            if target is None:
                work.pop()
                if work:
                    before = work[-1][0]
                    lowest[before] = min(lowest[before], lowest[state])
                if lowest[state] == entered[state]:
                    group = [path.pop()]
                    while group[-1] != state:
                        group.append(path.pop())
                    on_path.difference_update(group)
                    groups.append(group)
            elif target not in entered:
                enter(target)
            elif target in on_path:
                lowest[state] = min(lowest[state], entered[target])
    return list(entered), groups


def _merge(ranges: Iterable[tuple[int, int]]) -> Ranges:
    """Return ranges in order, those that touch or overlap made one."""
    merged: list[tuple[int, int]] = []
    for begin, end in sorted(ranges):
        if merged and begin <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((begin, end))
    return tuple(merged)
