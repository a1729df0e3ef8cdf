"""What vosk says a reading is worth is what the files say: network, sounds and language model.

vosk prints for each reading a likelihood: the network's scores along the best way through the
search graph, less the costs of that graph, which it takes times 0.9 (vosk 0.3.45,
Recognizer::GetResult). Here the network is computed anew from the weights in final.mdl, on features
by another library (kaldi-native-fbank), the best way is searched in the automata as we read them,
and both must agree.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import vosk

from models.recipe.features import mfcc, normalise, splice
from models.recipe.network_shape import BYPASS, LAYERS
from tests.adapting.conftest import SHIPPED, in_a_room, without_dither
from voicelog.adapting.automata import Automaton, read_automaton
from voicelog.adapting.making import Adapted
from voicelog.adapting.phones import PHONES, TRANSITIONS, pdf_forward, pdf_loop, sound_of
from voicelog.adapting.search_graph import read_words
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Segment

GRAPH_SCALE = 0.9
BEAM = 25.0
"""Ways that are so much worse than the best are given up; vosk's own beam is 9."""

Arcs = list[list[tuple[int, int, float, int]]]


def arcs_by_state(automaton: Automaton) -> Arcs:
    arcs, first = automaton.arcs.tolist(), automaton.first.tolist()
    return [arcs[begin:end] for begin, end in pairwise(first)]


def iter_layers(path: Path) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Yield the matrix and the bias of every layer, as Kaldi's binary form has them."""
    data, at = path.read_bytes(), 0
    begin = b"<LinearParams> FM "
    while (found := data.find(begin, at)) >= 0:
        at = found + len(begin)
        rows, columns = (int.from_bytes(data[at + n : at + n + 4], "little") for n in (1, 6))
        matrix = np.frombuffer(data, "<f4", rows * columns, at + 10).reshape(rows, columns)
        at += 10 + matrix.nbytes + len(b"<BiasParams> FV ") + 5
        bias = np.frombuffer(data, "<f4", rows, at)
        yield matrix, bias


def score(model: Path, sound: np.ndarray) -> np.ndarray:
    """Return the network's scores: shape (frames of 30 ms, pairs of phones twice)."""
    layers = iter_layers(model / "am" / "final.mdl")
    sums = (model / "am" / "global_cmvn.stats").read_text().split("\n")[1].split()
    mean = np.array(sums[:40], np.float64) / float(sums[40])
    features = mfcc(sound.astype(np.float32), dither=0.0)
    rows = splice(normalise(features, mean.astype(np.float32)), extra=LAYERS)

    def affine(values: np.ndarray) -> np.ndarray:
        matrix, bias = next(layers)
        return values @ matrix.T + bias

    hidden = np.maximum(affine(rows), 0)
    for _ in range(LAYERS):
        around = np.concatenate([hidden[:-2], hidden[1:-1], hidden[2:]], -1)
        hidden = BYPASS * hidden[1:-1] + np.maximum(affine(affine(around)), 0)
    return affine(affine(hidden))


def output_of(transition: int) -> int:
    phone, left = divmod((transition - 1) // 2, len(PHONES))
    return (pdf_loop if transition % 2 else pdf_forward)(left, sound_of(phone + 1))


OUTPUT_OF = [0, *map(output_of, range(1, TRANSITIONS + 1))]

Token = tuple[float, float]
"""What a way costs so far, and how much of that is the graph's."""


class Aligner:
    """Finds the best way of given words through a search graph."""

    def __init__(self, model: Path) -> None:
        self._sounds = read_automaton(model / "graph" / "HCLr.fst")
        self._grammar = read_automaton(model / "graph" / "Gr.fst")
        self._sound_arcs = arcs_by_state(self._sounds)
        self._grammar_arcs = arcs_by_state(self._grammar)
        self._numbers = {word: number for number, word in read_words(model / "graph").items()}

    def likelihood(self, text: str, scores: np.ndarray) -> float:
        """Return what vosk should print for these words."""
        numbers = [self._numbers[word] for word in text.split()]
        tokens = self._go_on({(self._sounds.start, 0): (0.0, 0.0)}, numbers)
        for frame in scores.tolist():
            tokens = self._go_on(self._hear(tokens, numbers, frame), numbers)
        finals = self._sounds.finals
        cost, graph = min(
            (cost + float(finals[state]), graph + float(finals[state]))
            for (state, said), (cost, graph) in tokens.items()
            if said == len(numbers)
        )
        return -(cost - graph) - GRAPH_SCALE * (graph + self._grammar_cost(numbers))

    def _hear(
        self, tokens: dict[tuple[int, int], Token], numbers: list[int], frame: list[float]
    ) -> dict[tuple[int, int], Token]:
        """Pass one frame, along the arcs that take time."""
        best = min(cost for cost, _ in tokens.values())
        new: dict[tuple[int, int], Token] = {}
        for (state, said), (cost, graph) in tokens.items():
            if cost > best + BEAM:
                continue
            for label, word, weight, target in self._sound_arcs[state]:
                if 0 < label <= TRANSITIONS and (not word or numbers[said : said + 1] == [word]):
                    key = (target, said + bool(word))
                    total = cost + weight - frame[OUTPUT_OF[label]]
                    if key not in new or total < new[key][0]:
                        new[key] = (total, graph + weight)
        return new

    def _go_on(
        self, tokens: dict[tuple[int, int], Token], numbers: list[int]
    ) -> dict[tuple[int, int], Token]:
        """Follow the arcs that take no time."""
        waiting = list(tokens)
        while waiting:
            state, said = waiting.pop()
            cost, graph = tokens[state, said]
            for label, word, weight, target in self._sound_arcs[state]:
                if 0 < label <= TRANSITIONS or (word and numbers[said : said + 1] != [word]):
                    continue
                key = (target, said + bool(word))
                if key not in tokens or cost + weight < tokens[key][0]:
                    tokens[key] = (cost + weight, graph + weight)
                    waiting.append(key)
        return tokens

    def _grammar_cost(self, numbers: list[int]) -> float:
        """Return the least cost of words in the language model, backing off where that is less."""
        costs = self._backed_off({self._grammar.start: 0.0})
        for number in numbers:
            new: dict[int, float] = {}
            for state, cost in costs.items():
                for label, _, weight, target in self._grammar_arcs[state]:
                    if label == number:
                        new[target] = min(cost + weight, new.get(target, np.inf))
            costs = self._backed_off(new)
        return min(cost + float(self._grammar.finals[state]) for state, cost in costs.items())

    def _backed_off(self, costs: dict[int, float]) -> dict[int, float]:
        waiting = list(costs)
        while waiting:
            state = waiting.pop()
            for label, _, weight, target in self._grammar_arcs[state]:
                if not label and costs[state] + weight < costs.get(target, np.inf):
                    costs[target] = costs[state] + weight
                    waiting.append(target)
        return costs


def readings_of(model: Path, sound: np.ndarray) -> list[tuple[str, float]]:
    """Return vosk's readings of a sound and their likelihoods, those of known words alone."""
    vosk.SetLogLevel(-1)
    recogniser = vosk.KaldiRecognizer(vosk.Model(str(model)), SAMPLE_RATE_HZ)
    recogniser.SetMaxAlternatives(2)
    recogniser.AcceptWaveform(sound.tobytes())
    found = json.loads(recogniser.FinalResult())["alternatives"]
    return [(one["text"], one["confidence"]) for one in found if "[unk]" not in one["text"]]


@pytest.mark.parametrize("which", ["shipped", "adapted"])
def test_vosk_and_we_score_readings_alike(
    which: str, adapted: Adapted, spoken_names: tuple[Segment, ...], tmp_path: Path
) -> None:
    """Each reading of "the Ellerby album" to a thousandth, two against each other closer."""
    model = without_dither(SHIPPED if which == "shipped" else adapted.folder, tmp_path)
    sound = in_a_room(spoken_names[1].samples)
    readings = readings_of(model, sound)
    aligner, scores = Aligner(model), score(model, sound)
    ours = [aligner.likelihood(text, scores) for text, _ in readings]
    theirs = [likelihood for _, likelihood in readings]
    assert len(readings) >= 1
    assert ours == pytest.approx(theirs, rel=1e-3)
    assert np.diff(ours) == pytest.approx(np.diff(theirs), abs=0.01)
