"""What the recipe writes is what vosk 0.3.45 (Kaldi) reads."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
import vosk

from models.recipe.kaldi_files import output_layers, write_model, write_settings
from models.recipe.network_shape import BOTTLENECK, HIDDEN, INPUT, LAYERS, PAIR_RANK
from voicelog.adapting.phones import (
    GRAPH_PHONES,
    OUTPUTS,
    PHONES,
    TRANSITIONS,
    forward_transition,
    in_word,
    loop_transition,
    pdf_forward,
    pdf_loop,
    sound_of,
)

SHIPPED = Path(__file__).parents[2] / "models" / "vosk-bench"


def make_weights(seed: int) -> dict[str, np.ndarray]:
    draw = np.random.default_rng(seed)

    def some(*shape: int) -> np.ndarray:
        return draw.normal(0, 0.1, shape).astype(np.float32)

    def norm(name: str) -> dict[str, np.ndarray]:
        ones = np.ones(HIDDEN, np.float32)
        return {
            f"{name}.weight": ones,
            f"{name}.bias": 0 * ones,
            f"{name}.running_mean": 0 * ones,
            f"{name}.running_var": ones,
        }

    weights = {"first.weight": some(HIDDEN, INPUT), **norm("first_norm")}
    for layer in range(LAYERS):
        weights[f"narrow.{layer}.weight"] = some(BOTTLENECK, 3 * HIDDEN)
        weights[f"wide.{layer}.weight"] = some(HIDDEN, BOTTLENECK)
        weights |= norm(f"norms.{layer}")
    weights["phone.weight"] = some(2 * len(PHONES), HIDDEN)
    weights["phone.bias"] = some(2 * len(PHONES))
    weights["pair_narrow.weight"] = some(PAIR_RANK, HIDDEN)
    weights["pair.weight"] = some(OUTPUTS, PAIR_RANK)
    return weights


def test_vosk_loads_a_network_of_any_weights(tmp_path: Path) -> None:
    """With the shipped graph, whose transitions it must fit; it hears, if only nonsense."""
    write_settings(tmp_path, np.zeros(40, np.float32))
    write_model(tmp_path / "am" / "final.mdl", make_weights(1))
    shutil.copytree(SHIPPED / "graph", tmp_path / "graph", dirs_exist_ok=True)
    vosk.SetLogLevel(-1)
    recogniser = vosk.KaldiRecognizer(vosk.Model(str(tmp_path)), 16_000)
    noise = np.random.default_rng(2).normal(0, 2000, 16_000).astype(np.int16)
    recogniser.AcceptWaveform(noise.tobytes())
    assert "text" in json.loads(recogniser.FinalResult())


def test_every_phone_after_every_other_has_two_transitions() -> None:
    """Numbered from 1, without a gap, as Kaldi's tuples are sorted."""
    numbers = [
        number
        for phone in range(1, len(GRAPH_PHONES) + 1)
        for left in range(len(PHONES))
        for number in (loop_transition(phone, left), forward_transition(phone, left))
    ]
    assert numbers == list(range(1, TRANSITIONS + 1))


def test_outputs_are_numbered_without_a_gap() -> None:
    numbers = [
        pdf(left, phone)
        for left in range(len(PHONES))
        for phone in range(len(PHONES))
        for pdf in (pdf_forward, pdf_loop)
    ]
    assert numbers == list(range(OUTPUTS))


def test_the_last_layers_are_the_phone_plus_the_pair() -> None:
    """What PyTorch adds up from two branches, Kaldi gets as one layer after the other."""
    weights = make_weights(3)
    (narrow, shift), (matrix, bias) = output_layers(weights)
    hidden = np.random.default_rng(4).normal(0, 1, HIDDEN).astype(np.float32)
    left, phone = 7, 12
    alone = weights["phone.weight"] @ hidden + weights["phone.bias"]
    pair = weights["pair.weight"] @ (weights["pair_narrow.weight"] @ hidden)
    scores = matrix @ (narrow @ hidden + shift) + bias
    for pdf, part in ((pdf_forward(left, phone), 0), (pdf_loop(left, phone), 1)):
        assert scores[pdf] == pytest.approx(alone[2 * phone + part] + pair[pdf], abs=1e-4)


@pytest.mark.parametrize(
    ("phones", "named"),
    [
        (["AH"], ["AH_S"]),
        (["S", "OW"], ["S_B", "OW_E"]),
        (["L", "IY", "F"], ["L_B", "IY_I", "F_E"]),
    ],
)
def test_phones_say_where_they_stand_in_their_word(phones: list[str], named: list[str]) -> None:
    numbers = in_word(phones)
    assert [GRAPH_PHONES[number - 1] for number in numbers] == named
    assert [PHONES[sound_of(number)] for number in numbers] == phones
