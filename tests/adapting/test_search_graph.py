"""The files that vosk searches: written as OpenFst does, and read back as they were meant."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.adapting.conftest import SHIPPED
from voicelog.adapting.automata import (
    ACCEPTOR,
    EXPANDED,
    Automaton,
    make_automaton,
    read_automaton,
    write_const,
)
from voicelog.adapting.grammar import make_grammar, read_grammar
from voicelog.adapting.language_model import Counts, LanguageModel, estimate
from voicelog.adapting.lexicon import UNKNOWN
from voicelog.adapting.look_ahead import look_ahead
from voicelog.adapting.phones import (
    GRAPH_NUMBER_OF,
    GRAPH_PHONES,
    PHONES,
    TRANSITIONS,
    forward_transition,
    is_forward,
    phone_of,
    sound_of,
)
from voicelog.adapting.search_graph import (
    make_sounds,
    read_lexicon,
    read_words,
    write_graph,
)

GRAPH = SHIPPED / "graph"
WORDS = ["leaf", "recto", "verso", "tarnfoot"]


@pytest.fixture(scope="module")
def shipped_sounds() -> Automaton:
    return read_automaton(GRAPH / "HCLr.fst")


class TestShippedModel:
    """What OpenFst's own programs wrote is read, and written again alike."""

    def test_the_language_model_is_read_and_written_without_a_change(self) -> None:
        """Every arc of the shipped Gr.fst: the same words, the same states, the same costs."""
        shipped = read_automaton(GRAPH / "Gr.fst")
        words = read_words(GRAPH)
        numbers = {word: number for number, word in words.items()}
        again = make_grammar(read_grammar(shipped, words), numbers).sorted_by("input")
        assert again.start == shipped.start
        assert (again.first == shipped.first).all()
        for name in ("input", "output", "target"):
            assert (again.arcs[name] == shipped.arcs[name]).all(), name
        assert again.arcs["cost"] == pytest.approx(shipped.arcs["cost"], abs=2e-6)
        assert again.finals == pytest.approx(shipped.finals, abs=2e-6)

    def test_its_probabilities_sum_to_one(self) -> None:
        model = read_grammar(read_automaton(GRAPH / "Gr.fst"), read_words(GRAPH))
        words = model.probabilities[()]
        for history in [(), ("<s>",), ("leaf",), ("next", "leaf"), ("photo", "corners")]:
            total = sum(model.probability(word, history) for word in words)
            assert total == pytest.approx(1, abs=1e-4), history

    def test_the_words_are_read_with_their_sounds(self) -> None:
        lexicon = read_lexicon(GRAPH)
        assert {*lexicon, UNKNOWN, "<eps>"} == set(read_words(GRAPH).values())
        assert lexicon["recto"] == (("R", "EH", "K", "T", "OW"),)
        assert set(lexicon["read"]) == {("R", "IY", "D"), ("R", "EH", "D")}

    def test_its_sounds_made_anew_cost_the_same(self, shipped_sounds: Automaton) -> None:
        """Of every word, with silence before it and without, and of an unknown one."""
        numbers = {word: number for number, word in read_words(GRAPH).items()}
        again, _ = make_sounds(read_lexicon(GRAPH), numbers)
        shipped = dict(word_costs(shipped_sounds, numbers[UNKNOWN]))
        assert len(shipped) > 2 * 13_000
        assert dict(word_costs(again, numbers[UNKNOWN])) == pytest.approx(shipped, abs=1e-5)
        phones = ["T_B", "AA_I", "R_I", "N_I", "F_I", "UH_I", "T_E"]
        cost = unknown_cost(shipped_sounds, phones)
        assert unknown_cost(again, phones) == pytest.approx(cost, abs=1e-5)

    def test_what_comes_next_is_what_openfst_found(self, shipped_sounds: Automaton) -> None:
        """State by state, though OpenFst gave the words other numbers."""
        found = look_ahead(shipped_sounds)
        data = (GRAPH / "HCLr.fst").read_bytes()
        at = len(data) - _length_of_list(data, len(shipped_sounds.finals))
        final, count = struct.unpack_from("<iq", data, at)
        at += 12
        number_of = {**found.number_of, final: found.final_number}
        assert count == len(found.ahead)
        pairs = set()
        for ours in found.ahead:
            (ranges,) = struct.unpack_from("<q", data, at)
            theirs = np.frombuffer(data, "<i4", 2 * ranges, at + 8).reshape(ranges, 2)
            at += 8 + 8 * ranges + 4
            pairs.add((ours, tuple(map(tuple, theirs.tolist()))))
        assert at == len(data)
        for ours, theirs in pairs:
            expected = {number_of[label] for begin, end in theirs for label in range(begin, end)}
            assert {label for begin, end in ours for label in range(begin, end)} == expected


def _length_of_list(data: bytes, states: int) -> int:
    """Return how long the list behind the automaton is: it begins where the arcs end."""
    inner = data.index(b"const\x08\x00\x00\x00standard")
    start, state_count, arcs = struct.unpack_from("<qqq", data, inner + 5 + 12 + 16)
    assert (start, state_count) == (0, states)
    header_end = inner + 5 + 12 + 16 + 24
    return len(data) - (header_end + 20 * states + 16 * arcs + 5)


Way = tuple[tuple[str, ...], int]


def word_costs(sounds: Automaton, unknown: int) -> Iterator[tuple[Way, float]]:
    """Yield each way through silence or none and one known word: its phones, the word, its cost."""
    waiting: list[tuple[int, tuple[str, ...], int, float]] = [(sounds.start, (), 0, 0.0)]
    while waiting:
        state, phones, word, cost = waiting.pop()
        if word and np.isfinite(sounds.finals[state]):
            yield (phones, word), cost + float(sounds.finals[state])
            continue
        for label, output, weight, target in sounds.arcs_of(state).tolist():
            if target == state or output == unknown:
                continue
            longer = (*phones, GRAPH_PHONES[phone_of(label) - 1]) if is_forward(label) else phones
            waiting.append((target, longer, output or word, cost + weight))


def unknown_cost(sounds: Automaton, phones: list[str]) -> float:
    """Return what an unknown word of these graph phones costs, between no silence."""
    numbers = [GRAPH_NUMBER_OF[phone] for phone in phones]
    lefts = [0, *(sound_of(number) for number in numbers)]
    labels = [TRANSITIONS + 2, *map(forward_transition, numbers, lefts)]
    state, cost = sounds.start, 0.0
    for label in labels:
        arcs = sounds.arcs_of(state)
        if len(arcs) and not (arcs["input"] == label).any():
            # Behind a phone an arc that says nothing leads on, past the phone's own loop.
            state = int(arcs["target"][arcs["input"] == 0][0])
            arcs = sounds.arcs_of(state)
        [arc] = arcs[arcs["input"] == label].tolist()
        state, cost = arc[3], cost + arc[2]
    return cost


said = st.lists(st.lists(st.sampled_from(WORDS), min_size=1, max_size=4), min_size=1, max_size=8)


def model_of(sentences: list[list[str]]) -> LanguageModel:
    counts = Counts()
    for sentence in sentences:
        counts.add(sentence)
    return estimate(counts, [*WORDS, UNKNOWN])


class TestRoundTrip:
    @given(said)
    def test_a_language_model_is_read_as_it_was_written(self, sentences: list[list[str]]) -> None:
        """The same histories, and for each the same words with the same probabilities."""
        model = model_of(sentences)
        words = dict(enumerate([*WORDS, UNKNOWN], start=1))
        grammar = make_grammar(model, {word: number for number, word in words.items()})
        again = read_grammar(grammar, words)
        assert again.probabilities.keys() == model.probabilities.keys()
        for history, followers in model.probabilities.items():
            assert again.probabilities[history] == pytest.approx(followers, rel=1e-5)
        assert again.back_off == pytest.approx(model.back_off, rel=1e-5)

    @settings(max_examples=20)
    @given(
        st.dictionaries(
            st.sampled_from(WORDS),
            st.lists(
                st.lists(st.sampled_from(PHONES[1:6]), min_size=1, max_size=3).map(tuple),
                min_size=1,
                max_size=2,
                unique=True,
            ).map(tuple),
            min_size=1,
        )
    )
    def test_sounds_are_read_as_they_were_written(
        self,
        tmp_path_factory: pytest.TempPathFactory,
        lexicon: dict[str, tuple[tuple[str, ...], ...]],
    ) -> None:
        """Also of words that sound alike, that begin like others, and of a single phone."""
        folder = tmp_path_factory.mktemp("model")
        (folder / "graph").mkdir()
        counts = Counts()
        counts.add(lexicon)
        write_graph(folder, lexicon, estimate(counts, [*lexicon, UNKNOWN]))
        again = read_lexicon(folder / "graph")
        assert {word: set(ways) for word, ways in again.items()} == {
            word: set(ways) for word, ways in lexicon.items()
        }


class TestDamage:
    @pytest.mark.parametrize("share", [0.0, 0.001, 0.3, 0.99])
    def test_a_file_that_was_cut_is_no_automaton(self, tmp_path: Path, share: float) -> None:
        path = tmp_path / "Gr.fst"
        data = (GRAPH / "Gr.fst").read_bytes()
        path.write_bytes(data[: int(share * len(data))])
        with pytest.raises(ValueError, match=r"cut short|buffer|begin as an automaton"):
            read_automaton(path)

    def test_an_arc_that_leads_nowhere_is_found(self, tmp_path: Path) -> None:
        path = tmp_path / "Gr.fst"
        wrong = make_automaton(0, [[(1, 1, 0.5, 7)]], {0: 0.0})
        write_const(wrong, path, properties=EXPANDED | ACCEPTOR)
        with pytest.raises(ValueError, match="arcs don't fit its states"):
            read_automaton(path)

    @pytest.mark.parametrize(
        ("arcs", "finals", "problem"),
        [
            ([[(1, 1, 0.5, 0)]], {0: 0.0}, "doesn't back off to single words"),
            ([[(0, 0, 0.1, 1), (0, 0, 0.2, 1)], []], {1: 0.0}, "backs off in two ways"),
            ([[(0, 0, 0.1, 1)], [(9, 9, 0.5, 1)]], {1: 0.0}, "words that the list lacks"),
            ([[(0, 0, 0.1, 1)], [], [(0, 0, 0.1, 1)]], {1: 0.0}, "histories that nobody can say"),
        ],
    )
    def test_a_language_model_of_another_make_is_refused(
        self, arcs: list[list[tuple[int, int, float, int]]], finals: dict[int, float], problem: str
    ) -> None:
        with pytest.raises(ValueError, match=problem):
            read_grammar(make_automaton(0, arcs, finals), {1: "leaf"})
