"""The search graph: from transitions over phones and words to the language model.

Two automata, which vosk composes as it goes, so that a program can exchange the language
model for a word list: ``HCLr.fst`` (sounds to words) and ``Gr.fst`` (which word follows
which). Mohri, Pereira and Riley, "Weighted finite-state transducers in speech
recognition" (Computer Speech and Language 16, 2002) describes the parts. Built with
OpenFst: pynini's ``pywrapfst``, and ``fstconvert`` with its look-ahead plug-in (Debian's
libfst-tools and libfst22-plugins-base).
"""

from __future__ import annotations

import math
import os
import subprocess
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise, product
from pathlib import Path

import pywrapfst as fst  # type: ignore[import-untyped]

from models.recipe.kaldi_files import TRANSITIONS, forward_transition, loop_transition
from models.recipe.language_model import END, ORDER, START, History, LanguageModel
from models.recipe.lexicon import UNKNOWN, Lexicon, Pronunciation
from models.recipe.phones import GRAPH_NUMBER_OF, GRAPH_PHONES, PHONES, in_word, sound_of

_SILENCE_BETWEEN = 0.4
_PLUGINS = "/usr/lib/x86_64-linux-gnu/fst/22:/usr/lib/x86_64-linux-gnu/fst"
_FIRST_MARK = len(GRAPH_PHONES) + 1
_UNKNOWN_MARK = _FIRST_MARK + 1
"""Input symbols that keep the graph determinable: silence, unknown words, homophones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownWords:
    """How speech outside the lexicon is heard: as any three or more phones.

    Attributes:
        follows: phone, or "" for the beginning, to the phones that may come next, "" for the
            end among them, to their probabilities.
        penalty: what each phone costs on top, in natural logarithms.
    """

    follows: Mapping[str, Mapping[str, float]]
    penalty: float


def phones_that_follow(lexicon: Lexicon) -> dict[str, dict[str, float]]:
    """Return how often a phone follows another in the words of a lexicon, as probabilities.

    Nothing is impossible: every count begins at one half.
    """
    phones = PHONES[1:]
    counts = {before: dict.fromkeys(("", *phones), 0.5) for before in ("", *phones)}
    counts[""][""] = 0.0
    for said in lexicon.values():
        for word in said:
            for before, phone in pairwise(("", *word, "")):
                counts[before][phone] += 1
    return {
        before: {phone: count / sum(after.values()) for phone, count in after.items()}
        for before, after in counts.items()
    }


def write_graph(
    folder: Path, lexicon: Lexicon, model: LanguageModel, unknown: UnknownWords
) -> None:
    """Write ``graph/`` of a model folder: both automata, ``words.txt`` and marks.

    Args:
        folder: the model folder.
        lexicon: every word and how it is said; ``[unk]`` is added.
        model: knows exactly these words and ``[unk]``.
        unknown: how anything else is heard.

    Raises:
        CalledProcessError: OpenFst's look-ahead plug-in is not there.
    """
    graph = folder / "graph"
    numbers = {word: number for number, word in enumerate(sorted([*lexicon, UNKNOWN]), start=1)}
    sounds, marks = _make_lexicon_graph(lexicon, numbers, unknown)
    sounds.rmepsilon()
    sounds = fst.determinize(sounds)
    expanded = _expand(sounds, marks)
    expanded.connect()
    expanded.arcsort("olabel")
    relabelled = _convert(expanded, graph / "HCLr.fst", kind="olabel_lookahead", graph_folder=graph)
    numbers = {word: relabelled.get(number, number) for word, number in numbers.items()}
    grammar = make_grammar(model, numbers)
    grammar.arcsort("ilabel")
    _convert(grammar, graph / "Gr.fst", kind="const", graph_folder=graph)
    mark_lines = "".join(f"{TRANSITIONS + 1 + place}\n" for place in range(len(marks)))
    (graph / "disambig_tid.int").write_text(mark_lines)
    listed = sorted([("<eps>", 0), *numbers.items()], key=lambda item: item[1])
    (graph / "words.txt").write_text("".join(f"{word} {number}\n" for word, number in listed))


def _weight(cost: float) -> fst.Weight:
    return fst.Weight("tropical", cost)


def _make_lexicon_graph(
    lexicon: Lexicon, numbers: Mapping[str, int], unknown: UnknownWords
) -> tuple[fst.VectorFst, range]:
    """Return phones to words, with silence wanted or not after every word, and its marks."""
    graph = fst.VectorFst()
    start, loop, silence, silent = (graph.add_state() for _ in range(4))
    graph.set_start(start)
    graph.set_final(loop)
    without, within = -math.log(1 - _SILENCE_BETWEEN), -math.log(_SILENCE_BETWEEN)

    def arc(source: int, label: int, word: int, cost: float, target: int) -> None:
        graph.add_arc(source, fst.Arc(label, word, _weight(cost), target))

    arc(start, 0, 0, without, loop)
    arc(start, 0, 0, within, silence)
    arc(silence, GRAPH_NUMBER_OF["SIL"], 0, 0, silent)
    arc(silent, _FIRST_MARK, 0, 0, loop)

    def add_word(word: str, labels: list[int]) -> None:
        state = loop
        for place, label in enumerate(labels):
            output = numbers[word] if place == 0 else 0
            if place == len(labels) - 1:
                arc(state, label, output, without, loop)
                arc(state, label, output, within, silence)
            else:
                target = graph.add_state()
                arc(state, label, output, 0, target)
                state = target

    shared = Counter(phones for said in lexicon.values() for phones in said)
    used: Counter[Pronunciation] = Counter()
    for word, said in lexicon.items():
        for phones in said:
            labels = in_word(phones)
            if shared[phones] > 1:
                used[phones] += 1
                labels.append(_UNKNOWN_MARK + used[phones])
            add_word(word, labels)
    _add_unknown(
        graph, numbers[UNKNOWN], unknown, ends=((loop, without), (silence, within)), at=loop
    )
    most = max(used.values(), default=0)
    return graph, range(_FIRST_MARK, _UNKNOWN_MARK + most + 1)


def _add_unknown(
    graph: fst.VectorFst,
    number: int,
    unknown: UnknownWords,
    *,
    ends: tuple[tuple[int, float], ...],
    at: int,
) -> None:
    """Add a loop of phones behind a mark of its own, which makes the graph determinable."""
    start = graph.add_state()
    graph.add_arc(at, fst.Arc(_UNKNOWN_MARK, number, _weight(0), start))
    phones = PHONES[1:]
    begun = {phone: graph.add_state() for phone in phones}
    inside = {phone: graph.add_state() for phone in phones}

    def cost(before: str, phone: str) -> float:
        return unknown.penalty - math.log(unknown.follows[before][phone])

    for phone in phones:
        label = GRAPH_NUMBER_OF[f"{phone}_B"]
        graph.add_arc(start, fst.Arc(label, 0, _weight(cost("", phone)), begun[phone]))
    for before, phone in product(phones, phones):
        label = GRAPH_NUMBER_OF[f"{phone}_I"]
        for source in (begun[before], inside[before]):
            graph.add_arc(source, fst.Arc(label, 0, _weight(cost(before, phone)), inside[phone]))
        last = cost(before, phone) - math.log(unknown.follows[phone][""])
        label = GRAPH_NUMBER_OF[f"{phone}_E"]
        for target, silence in ends:
            graph.add_arc(inside[before], fst.Arc(label, 0, _weight(last + silence), target))


def _expand(sounds: fst.VectorFst, marks: range) -> fst.VectorFst:
    """Return the graph over transitions instead of phones.

    A state remembers which phone was last, since the next one's outputs depend on it; the
    self-loop of a phone comes after its forward transition, as Kaldi's "reorder" has it.
    """
    graph = fst.VectorFst()
    one = fst.Weight.one("tropical")
    found: dict[tuple[int, int], int] = {}
    entered: dict[tuple[int, int, int], int] = {}
    waiting: list[tuple[int, int]] = []

    def place(state: int, last: int) -> int:
        key = (state, last)
        if key not in found:
            found[key] = graph.add_state()
            waiting.append(key)
            final = sounds.final(state)
            if final != fst.Weight.zero("tropical"):
                graph.set_final(found[key], final)
        return found[key]

    def enter(state: int, phone: int, left: int) -> int:
        key = (state, phone, left)
        if key not in entered:
            entered[key] = graph.add_state()
            looping = loop_transition(phone, left)
            graph.add_arc(entered[key], fst.Arc(looping, 0, one, entered[key]))
            graph.add_arc(entered[key], fst.Arc(0, 0, one, place(state, sound_of(phone))))
        return entered[key]

    graph.set_start(place(sounds.start(), 0))
    while waiting:
        state, last = waiting.pop()
        source = found[(state, last)]
        for arc in sounds.arcs(state):
            if arc.ilabel == 0:
                label, target = 0, place(arc.nextstate, last)
            elif arc.ilabel in marks:
                label = TRANSITIONS + 1 + marks.index(arc.ilabel)
                target = place(arc.nextstate, last)
            else:
                label = forward_transition(arc.ilabel, last)
                target = enter(arc.nextstate, arc.ilabel, last)
            graph.add_arc(source, fst.Arc(label, arc.olabel, arc.weight, target))
    return graph


def make_grammar(model: LanguageModel, numbers: Mapping[str, int]) -> fst.VectorFst:
    """Return the language model as an acceptor; backing off costs, and says no word."""
    graph = fst.VectorFst()
    states: dict[History, int] = {history: graph.add_state() for history in model.probabilities}
    graph.set_start(states.get((START,), states[()]))
    for history, followers in model.probabilities.items():
        for word, probability in followers.items():
            cost = _weight(-math.log(probability))
            if word == END:
                graph.set_final(states[history], cost)
                continue
            target = (*history, word)[-(ORDER - 1) :]
            while target not in states:
                target = target[1:]
            graph.add_arc(
                states[history], fst.Arc(numbers[word], numbers[word], cost, states[target])
            )
        if history:
            shorter = history[1:]
            while shorter not in states:
                shorter = shorter[1:]
            cost = _weight(-math.log(model.back_off[history]))
            graph.add_arc(states[history], fst.Arc(0, 0, cost, states[shorter]))
    return graph


def _convert(
    graph: fst.VectorFst, target: Path, *, kind: str, graph_folder: Path
) -> dict[int, int]:
    """Write an automaton in one of OpenFst's forms; return which labels got new numbers."""
    plain = graph_folder / "plain.fst"
    pairs = graph_folder / "relabel"
    graph.write(str(plain))
    command = ["fstconvert", f"--fst_type={kind}"]
    if kind == "olabel_lookahead":
        command.append(f"--save_relabel_opairs={pairs}")
    environment = {**os.environ, "LD_LIBRARY_PATH": _PLUGINS}
    subprocess.run([*command, str(plain), str(target)], check=True, env=environment)
    plain.unlink()
    if kind != "olabel_lookahead":
        return {}
    lines = [line.split() for line in pairs.read_text().splitlines()]
    pairs.unlink()
    return {int(before): int(after) for before, after in lines}
