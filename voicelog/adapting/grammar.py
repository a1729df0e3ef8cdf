"""The language model as the automaton ``Gr.fst``, written and read back.

A state is a history. An arc says a word and leads to the history that is known then; one that
says nothing backs off to the shorter history. Costs are negative natural logarithms.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from voicelog.adapting.automata import Arc, Automaton, make_automaton
from voicelog.adapting.language_model import END, ORDER, START, History, LanguageModel


def make_grammar(model: LanguageModel, numbers: Mapping[str, int]) -> Automaton:
    """Return the language model as an automaton.

    Args:
        model: the language model.
        numbers: its words' numbers, from 1.
    """
    states = {history: state for state, history in enumerate(model.probabilities)}
    arcs: list[list[Arc]] = []
    finals = {}
    for history, followers in model.probabilities.items():
        leaving = []
        for word, probability in followers.items():
            cost = -math.log(probability)
            if word == END:
                finals[states[history]] = cost
            else:
                target = states[_known(states, (*history, word)[-(ORDER - 1) :])]
                leaving.append((numbers[word], numbers[word], cost, target))
        if history:
            shorter = states[_known(states, history[1:])]
            leaving.append((0, 0, -math.log(model.back_off[history]), shorter))
        arcs.append(leaving)
    return make_automaton(states.get((START,), states[()]), arcs, finals)


def _known(states: Mapping[History, int], history: History) -> History:
    while history not in states:
        history = history[1:]
    return history


def read_grammar(grammar: Automaton, words: Mapping[int, str]) -> LanguageModel:
    """Return the language model that an automaton was made of.

    Args:
        grammar: what ``make_grammar`` gave.
        words: the words by their numbers.

    Raises:
        ValueError: it was not made that way, or of other words.
    """
    arcs = [grammar.arcs_of(state).tolist() for state in range(len(grammar.finals))]
    shorter = [_back_off(leaving) for leaving in arcs]
    roots = [state for state, arc in enumerate(shorter) if arc is None]
    if len(roots) != 1 or shorter[grammar.start] is None:
        raise ValueError("the language model doesn't back off to single words")
    found: dict[int, History] = {roots[0]: (), grammar.start: (START,)}
    waiting = list(found)
    for state in waiting:
        for target, history in _iter_reached(found[state], arcs[state], words):
            # What was said is known as far as the target's own length.
            length = _depth(target, shorter)
            if target not in found:
                found[target] = history[len(history) - length :]
                waiting.append(target)
    if len(found) != len(arcs) or len(set(found.values())) != len(found):
        raise ValueError("the language model has histories that nobody can say")
    model = LanguageModel(probabilities={}, back_off={})
    for state, history in sorted(found.items()):
        followers = {words[label]: math.exp(-cost) for label, _, cost, _ in arcs[state] if label}
        if math.isfinite(ends := float(grammar.finals[state])):
            followers[END] = math.exp(-ends)
        model.probabilities[history] = followers
        if (arc := shorter[state]) is not None:
            model.back_off[history] = math.exp(-arc[2])
    return model


def _back_off(leaving: list[Arc]) -> Arc | None:
    silent = [arc for arc in leaving if not arc[0]]
    if len(silent) > 1:
        raise ValueError("the language model backs off in two ways")
    return silent[0] if silent else None


def _depth(state: int, shorter: list[Arc | None]) -> int:
    """Return how many words a state remembers."""
    for depth in range(ORDER):
        arc = shorter[state]
        if arc is None:
            return depth
        state = arc[3]
    raise ValueError(f"the language model remembers more than {ORDER - 1} words")


def _iter_reached(
    history: History, leaving: list[Arc], words: Mapping[int, str]
) -> Iterator[tuple[int, History]]:
    for label, _, _, target in leaving:
        if label and label not in words:
            raise ValueError("the language model has words that the list lacks")
        if label:
            yield target, (*history, words[label])
