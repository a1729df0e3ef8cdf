"""The search graph: from transitions over phones and words to the language model.

Two automata, which vosk composes as it goes, so that a program can exchange the language
model for a word list: ``HCLr.fst`` (sounds to words) and ``Gr.fst`` (which word follows
which). Mohri, Pereira and Riley, "Weighted finite-state transducers in speech
recognition" (Computer Speech and Language 16, 2002) describes the parts.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise, product
from pathlib import Path

from voicelog.adapting.automata import (
    ACCEPTOR,
    EXPANDED,
    SORTED_BY_INPUT,
    SORTED_BY_OUTPUT,
    Arc,
    Automaton,
    make_automaton,
    read_automaton,
    write_const,
    write_look_ahead,
)
from voicelog.adapting.grammar import make_grammar
from voicelog.adapting.language_model import LanguageModel
from voicelog.adapting.lexicon import UNKNOWN, Lexicon, Pronunciation
from voicelog.adapting.look_ahead import look_ahead
from voicelog.adapting.phones import (
    GRAPH_NUMBER_OF,
    GRAPH_PHONES,
    PHONES,
    TRANSITIONS,
    ends_word,
    forward_transition,
    in_word,
    is_forward,
    loop_transition,
    phone_of,
    sound_of,
)

SOUNDS, GRAMMAR, WORDS, MARKS = "HCLr.fst", "Gr.fst", "words.txt", "disambig_tid.int"
"""The files of a model's folder ``graph``."""

UNKNOWN_PENALTY = 1.0
"""What each phone of an unknown word costs: tuned, see models/README.md."""

_SILENCE_BETWEEN = 0.4
_WITHOUT, _WITH = -math.log(1 - _SILENCE_BETWEEN), -math.log(_SILENCE_BETWEEN)
_FIRST_MARK = len(GRAPH_PHONES) + 1
_UNKNOWN_MARK = _FIRST_MARK + 1
"""Inputs besides phones: behind silence, before unknown words, behind words that sound alike."""


def write_graph(folder: Path, lexicon: Lexicon, model: LanguageModel) -> None:
    """Write ``graph/`` of a model folder: both automata, ``words.txt`` and marks.

    Args:
        folder: the model folder.
        lexicon: every word and how it is said; ``[unk]`` is added.
        model: knows exactly these words and ``[unk]``.

    Raises:
        OSError: a file can't be written.
    """
    graph = folder / "graph"
    words = sorted([*lexicon, UNKNOWN])
    sounds, mark_count = make_sounds(lexicon, {word: n for n, word in enumerate(words, start=1)})
    ahead = look_ahead(sounds)
    numbers = {word: ahead.number_of[n] for n, word in enumerate(words, start=1)}
    outputs = sounds.arcs["output"]
    outputs[:] = [ahead.number_of.get(output, 0) for output in outputs.tolist()]
    write_look_ahead(
        sounds.sorted_by("output"),
        graph / SOUNDS,
        final_number=ahead.final_number,
        ahead=ahead.ahead,
    )
    write_const(
        make_grammar(model, numbers).sorted_by("input"),
        graph / GRAMMAR,
        properties=EXPANDED | ACCEPTOR | SORTED_BY_INPUT | SORTED_BY_OUTPUT,
    )
    mark_lines = "".join(f"{TRANSITIONS + 1 + place}\n" for place in range(mark_count))
    (graph / MARKS).write_text(mark_lines, encoding="ascii")
    listed = sorted([("<eps>", 0), *numbers.items()], key=lambda item: item[1])
    lines = "".join(f"{word} {number}\n" for word, number in listed)
    (graph / WORDS).write_text(lines, encoding="utf-8")


def make_sounds(lexicon: Lexicon, numbers: Mapping[str, int]) -> tuple[Automaton, int]:
    """Return the automaton from transitions to words, and how many marks its inputs have.

    Args:
        lexicon: every word and how it is said, without ``[unk]``.
        numbers: the words' numbers among the outputs, with ``[unk]``.
    """
    graph = _SoundGraph()
    graph.add_words(lexicon, numbers)
    graph.add_unknown(numbers[UNKNOWN], phones_that_follow(lexicon))
    return _expand(graph), graph.mark_count


def phones_that_follow(lexicon: Lexicon) -> dict[str, dict[str, float]]:
    """Return how often a phone follows another in the words of a lexicon, as probabilities.

    The phone before is "" at the beginning of a word, the one after at its end. Nothing is
    impossible: every count begins at one half.
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


@dataclass(slots=True)
class _Branch:
    """A place in the tree of all pronunciations: what can come next, and the words behind it."""

    following: dict[int, _Branch]
    words: set[int]


class _SoundGraph:
    """Phones to words, with silence wanted or not after every word.

    No state has two arcs of one input: that a word ends is told by its last phone, words that sound
    alike by marks behind them, and a word is said as soon as it can only be that one.

    Attributes:
        arcs: the arcs that leave each state.
        finals: what ending costs, for each state in which something may end.
        mark_count: how many marks the inputs have.
    """

    def __init__(self) -> None:
        self.arcs: list[list[Arc]] = []
        self.mark_count = 2
        # Behind a word silence may come; behind silence only the next word.
        self.start, self._after_word, self._after_silence, silent = (
            self._add_state() for _ in range(4)
        )
        self.finals = {self.start: _WITHOUT, self._after_word: 0.0, self._after_silence: 0.0}
        silence = GRAPH_NUMBER_OF["SIL"]
        self.arcs[self.start].append((silence, 0, _WITH, silent))
        self.arcs[self._after_word].append((silence, 0, _WITH - _WITHOUT, silent))
        self.arcs[silent].append((_FIRST_MARK, 0, 0.0, self._after_silence))

    def _add_state(self) -> int:
        self.arcs.append([])
        return len(self.arcs) - 1

    def _begin(self, label: int, word: int, target: int, *, cost: float = 0.0) -> None:
        """Add the first arc of words, from wherever a word may begin."""
        arc = (label, word, cost, target)
        self.arcs[self.start].append((label, word, cost + _WITHOUT, target))
        self.arcs[self._after_word].append(arc)
        self.arcs[self._after_silence].append(arc)

    def add_words(self, lexicon: Lexicon, numbers: Mapping[str, int]) -> None:
        """Add every word of the lexicon."""
        shared = Counter(phones for said in lexicon.values() for phones in said)
        used: Counter[Pronunciation] = Counter()
        tree = _Branch({}, set())
        for word, said in lexicon.items():
            for phones in said:
                labels = in_word(phones)
                if shared[phones] > 1:
                    used[phones] += 1
                    labels.append(_UNKNOWN_MARK + used[phones])
                branch = tree
                for label in labels:
                    branch = branch.following.setdefault(label, _Branch({}, set()))
                    branch.words.add(numbers[word])
        self.mark_count += max(used.values(), default=0)
        for label, branch in tree.following.items():
            number = _only(branch.words)
            if branch.following:
                self._begin(label, number, self._grow(branch))
            else:
                self._begin(label, number, self._after_word, cost=_WITHOUT)

    def _grow(self, root: _Branch) -> int:
        """Return the state of a branch, with everything that comes behind it."""
        first = self._add_state()
        waiting = [(first, root)]
        while waiting:
            state, branch = waiting.pop()
            is_said = len(branch.words) == 1
            for label, after in branch.following.items():
                word = 0 if is_said else _only(after.words)
                if after.following:
                    target = self._add_state()
                    waiting.append((target, after))
                    self.arcs[state].append((label, word, 0.0, target))
                else:
                    self.arcs[state].append((label, word, _WITHOUT, self._after_word))
        return first

    def add_unknown(self, number: int, follows: Mapping[str, Mapping[str, float]]) -> None:
        """Add speech outside the lexicon: any three or more phones, behind a mark of their own.

        Args:
            number: of the word that stands for it.
            follows: what ``phones_that_follow`` gives.
        """
        start = self._add_state()
        self._begin(_UNKNOWN_MARK, number, start)
        phones = PHONES[1:]
        begun = {phone: self._add_state() for phone in phones}
        inside = {phone: self._add_state() for phone in phones}

        def cost(before: str, phone: str) -> float:
            return UNKNOWN_PENALTY - math.log(follows[before][phone])

        for phone in phones:
            label = GRAPH_NUMBER_OF[f"{phone}_B"]
            self.arcs[start].append((label, 0, cost("", phone), begun[phone]))
        for before, phone in product(phones, phones):
            label = GRAPH_NUMBER_OF[f"{phone}_I"]
            for source in (begun[before], inside[before]):
                self.arcs[source].append((label, 0, cost(before, phone), inside[phone]))
            last = cost(before, phone) - math.log(follows[phone][""]) + _WITHOUT
            label = GRAPH_NUMBER_OF[f"{phone}_E"]
            self.arcs[inside[before]].append((label, 0, last, self._after_word))


def _only(words: set[int]) -> int:
    """Return the one word of a set, 0 where there are several."""
    return next(iter(words)) if len(words) == 1 else 0


def _expand(sounds: _SoundGraph) -> Automaton:
    """Return the graph over transitions instead of phones.

    A state remembers which phone was last, since the next one's outputs depend on it; the
    self-loop of a phone comes after its forward transition, as Kaldi's "reorder" has it.
    """
    arcs: list[list[Arc]] = []
    finals: dict[int, float] = {}
    found: dict[tuple[int, int], int] = {}
    entered: dict[tuple[int, int, int], int] = {}
    waiting: list[tuple[int, int]] = []

    def place(state: int, last: int) -> int:
        key = (state, last)
        if key not in found:
            found[key] = len(arcs)
            arcs.append([])
            waiting.append(key)
            if state in sounds.finals:
                finals[found[key]] = sounds.finals[state]
        return found[key]

    def enter(state: int, phone: int, left: int) -> int:
        key = (state, phone, left)
        if key not in entered:
            here = entered[key] = len(arcs)
            arcs.append([(loop_transition(phone, left), 0, 0.0, here)])
            arcs[here].append((0, 0, 0.0, place(state, sound_of(phone))))
        return entered[key]

    start = place(sounds.start, 0)
    while waiting:
        state, last = waiting.pop()
        source = found[(state, last)]
        for label, word, cost, target in sounds.arcs[state]:
            if label >= _FIRST_MARK:
                transition, there = TRANSITIONS + 1 + label - _FIRST_MARK, place(target, last)
            else:
                transition, there = forward_transition(label, last), enter(target, label, last)
            arcs[source].append((transition, word, cost, there))
    return make_automaton(start, arcs, finals)


def read_lexicon(graph: Path) -> Lexicon:
    """Return every word of a model and how it is said, as its search graph has it.

    Args:
        graph: the folder ``graph`` of a model that was written here.

    Raises:
        OSError: a file can't be read.
        ValueError: it is no such graph.
    """
    sounds = read_automaton(graph / SOUNDS)
    words = read_words(graph)
    lexicon: dict[str, list[Pronunciation]] = {}
    for number, phones in _iter_pronunciations(sounds):
        if number not in words or not phones:
            raise ValueError(f"{SOUNDS} has words that {WORDS} doesn't list")
        lexicon.setdefault(words[number], []).append(phones)
    return {word: tuple(said) for word, said in sorted(lexicon.items())}


def read_words(graph: Path) -> dict[int, str]:
    """Return the words of a model by their numbers.

    Raises:
        OSError: the file can't be read.
        ValueError: it is not such a list.
    """
    lines = (graph / WORDS).read_text(encoding="utf-8").splitlines()
    return {int(number): word for word, number in (line.split() for line in lines)}


def _iter_pronunciations(sounds: Automaton) -> Iterator[tuple[int, Pronunciation]]:
    """Yield the numbers of words and their phones, along every way from the start through one word.

    The ways are a tree: no arc is on two of them.
    """
    waiting: list[tuple[int, Pronunciation, int]] = [(sounds.start, (), 0)]
    left = len(sounds.arcs)
    while waiting:
        state, phones, word = waiting.pop()
        left -= sounds.first[state + 1] - sounds.first[state]
        if left < 0:
            raise ValueError(f"the words in {SOUNDS} are not laid out as a tree")
        for label, output, _, target in sounds.arcs_of(state).tolist():
            said = output or word
            if label > TRANSITIONS:
                # A mark behind phones tells words apart that sound alike; others lead elsewhere.
                if phones:
                    yield said, phones
            elif label == 0:
                waiting.append((target, phones, word))
            elif is_forward(label) and phone_of(label) != GRAPH_NUMBER_OF["SIL"]:
                longer = (*phones, PHONES[sound_of(phone_of(label))])
                if ends_word(phone_of(label)) and said:
                    yield said, longer
                else:
                    waiting.append((target, longer, said))
