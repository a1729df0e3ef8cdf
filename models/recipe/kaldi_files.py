"""Writing the files that Kaldi, and so vosk, reads: transition model, network, settings.

The formats are Kaldi's binary ones (https://kaldi-asr.org/doc/io.html); what is written is
checked by loading it in vosk and comparing likelihoods (tests/adapting/test_likelihoods.py).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

from models.recipe.network_shape import BYPASS, LAYERS
from voicelog.adapting.phones import (
    GRAPH_PHONES,
    OUTPUTS,
    PHONES,
    TRANSITIONS,
    pdf_forward,
    pdf_loop,
    phone_lines,
    sound_of,
    word_boundary_lines,
)

Array = npt.NDArray[np.float32]

_STATES = [
    (graph_phone, left)
    for graph_phone in range(1, len(GRAPH_PHONES) + 1)
    for left in range(len(PHONES))
]
"""Kaldi's tuples, sorted by phone: a phone of the graph after each phone."""


class _Writer:
    """Kaldi's binary form: words end in a space, numbers are preceded by their size."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        stream.write(b"\0B")

    def token(self, *tokens: str) -> None:
        for token in tokens:
            self._stream.write(token.encode() + b" ")

    def line(self, text: str) -> None:
        self._stream.write(text.encode() + b"\n")

    def integer(self, *values: int) -> None:
        for value in values:
            self._stream.write(b"\4" + struct.pack("<i", value))

    def real(self, value: float) -> None:
        self._stream.write(b"\4" + struct.pack("<f", value))

    def integers(self, values: Sequence[int]) -> None:
        self.integer(len(values))
        self._stream.write(np.asarray(values, dtype="<i4").tobytes())

    def vector(self, values: npt.ArrayLike) -> None:
        array = np.asarray(values, dtype="<f4")
        self._stream.write(b"FV ")
        self.integer(len(array))
        self._stream.write(array.tobytes())

    def matrix(self, values: npt.ArrayLike) -> None:
        array = np.ascontiguousarray(values, dtype="<f4")
        self._stream.write(b"FM ")
        self.integer(*array.shape)
        self._stream.write(array.tobytes())


def write_model(path: Path, weights: Mapping[str, Array]) -> None:
    """Write ``final.mdl``: how phones follow one another, and the network that scores them.

    Args:
        path: the file.
        weights: the network's weights, by the names that PyTorch gave them.
    """
    components = list(_components(weights))
    with path.open("wb") as stream:
        writer = _Writer(stream)
        _write_transitions(writer)
        writer.token("<Nnet3>")
        writer.line("")
        for line in _nodes():
            writer.line(line)
        writer.line("")
        writer.token("<NumComponents>")
        writer.integer(len(components))
        for name, component in components:
            writer.token("<ComponentName>", name)
            _write_component(writer, component)
        writer.token("</Nnet3>", "<LeftContext>")
        writer.integer(0)
        writer.token("<RightContext>")
        writer.integer(0)
        writer.token("<Priors>")
        writer.vector([])


def _write_transitions(writer: _Writer) -> None:
    phones = range(1, len(GRAPH_PHONES) + 1)
    writer.token("<TransitionModel>", "<Topology>")
    writer.integers(list(phones))
    writer.integers([-1, *(0 for _ in phones)])
    # One topology with two states: -1 says that the two outputs of a state differ.
    writer.integer(-1, 1, 2)
    writer.integer(0, 1, 2)
    for destination in (0, 1):
        writer.integer(destination)
        writer.real(0.5)
    writer.integer(-1, -1, 0)
    writer.token("</Topology>", "<Tuples>")
    writer.integer(len(_STATES))
    for graph_phone, left in _STATES:
        phone = sound_of(graph_phone)
        writer.integer(graph_phone, 0, pdf_forward(left, phone), pdf_loop(left, phone))
    writer.token("</Tuples>", "<LogProbs>")
    writer.vector([0.0, *(np.log(0.5) for _ in range(TRANSITIONS))])
    writer.token("</LogProbs>", "</TransitionModel>")


_Affine = tuple[Array, Array]
_Component = _Affine | tuple[str, int]


def _components(weights: Mapping[str, Array]) -> Iterator[tuple[str, _Component]]:
    hidden = len(weights["first.weight"])
    yield "first.affine", _fold(weights, "first.weight", "first_norm")
    yield "first.relu", ("relu", hidden)
    for layer in range(LAYERS):
        narrow = weights[f"narrow.{layer}.weight"]
        yield f"l{layer}.narrow", (narrow, np.zeros(len(narrow), np.float32))
        yield f"l{layer}.wide", _fold(weights, f"wide.{layer}.weight", f"norms.{layer}")
        yield f"l{layer}.relu", ("relu", hidden)
        yield f"l{layer}.sum", ("none", hidden)
    yield from zip(("output.narrow", "output.affine"), output_layers(weights), strict=True)


def _fold(weights: Mapping[str, Array], matrix: str, norm: str) -> _Affine:
    """Return a layer together with the batch normalisation behind it (eps 1e-5)."""
    scale = weights[f"{norm}.weight"] / np.sqrt(weights[f"{norm}.running_var"] + 1e-5)
    shift = weights[f"{norm}.bias"] - weights[f"{norm}.running_mean"] * scale
    return weights[matrix] * scale[:, np.newaxis], shift


def output_layers(weights: Mapping[str, Array]) -> tuple[_Affine, _Affine]:
    """Return the last two layers: the phone's own scores plus a correction for the one before.

    The first makes the phones' scores and the few numbers behind the correction, the second
    adds them up for every pair.
    """
    phones = len(PHONES)
    alone, pair = weights["phone.weight"], weights["pair.weight"]
    narrow = np.concatenate([alone, weights["pair_narrow.weight"]])
    bias = np.concatenate([weights["phone.bias"], np.zeros(pair.shape[1], np.float32)])
    every_phone = np.tile(np.eye(2 * phones, dtype=np.float32), (phones, 1))
    together = np.concatenate([every_phone, pair], axis=1)
    return (narrow, bias), (together, np.zeros(OUTPUTS, np.float32))


def _write_component(writer: _Writer, component: _Component) -> None:
    match component:
        case (str(name), int(size)) if name == "relu":
            writer.token("<RectifiedLinearComponent>", "<Dim>")
            writer.integer(size)
            writer.token("<ValueAvg>")
            writer.vector([])
            writer.token("<DerivAvg>")
            writer.vector([])
            writer.token("<Count>")
            writer.real(0.0)
            writer.token("</RectifiedLinearComponent>")
        case (str(), int(size)):
            writer.token("<NoOpComponent>", "<Dim>")
            writer.integer(size)
            writer.token("<BackpropScale>")
            writer.real(1.0)
            writer.token("</NoOpComponent>")
        case (matrix, bias):
            writer.token("<FixedAffineComponent>", "<LinearParams>")
            writer.matrix(matrix)
            writer.token("<BiasParams>")
            writer.vector(bias)
            writer.token("</FixedAffineComponent>")


def _nodes() -> Iterator[str]:
    yield "input-node name=input dim=40"
    spliced = "Offset(input, -2), Offset(input, -1), input, Offset(input, 1), Offset(input, 2)"
    yield f"component-node name=first.affine component=first.affine input=Append({spliced})"
    yield "component-node name=first.relu component=first.relu input=first.affine"
    before = "first.relu"
    for layer in range(LAYERS):
        around = f"Append(Offset({before}, -3), {before}, Offset({before}, 3))"
        steps = [
            ("narrow", around),
            ("wide", f"l{layer}.narrow"),
            ("relu", f"l{layer}.wide"),
            ("sum", f"Sum(Scale({BYPASS}, {before}), l{layer}.relu)"),
        ]
        for name, source in steps:
            yield f"component-node name=l{layer}.{name} component=l{layer}.{name} input={source}"
        before = f"l{layer}.sum"
    yield f"component-node name=output.narrow component=output.narrow input={before}"
    yield "component-node name=output.affine component=output.affine input=output.narrow"
    yield "output-node name=output input=output.affine objective=linear"


def write_settings(folder: Path, global_mean: Array) -> None:
    """Write everything that is neither network nor graph into a model folder."""
    for part in ("am", "conf", "graph/phones"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    (folder / "conf" / "mfcc.conf").write_text(
        "--use-energy=false\n--num-mel-bins=40\n--num-ceps=40\n--low-freq=20\n"
        "--high-freq=7600\n--allow-upsample=true\n--allow-downsample=true\n"
    )
    (folder / "conf" / "model.conf").write_text(
        "--min-active=200\n--max-active=1500\n--beam=9.0\n--lattice-beam=6.0\n"
        "--acoustic-scale=1.0\n--frame-subsampling-factor=3\n--endpoint.silence-phones=1\n"
        "--endpoint.rule2.min-trailing-silence=0.5\n--endpoint.rule3.min-trailing-silence=1.0\n"
        "--endpoint.rule4.min-trailing-silence=2.0\n"
    )
    (folder / "graph" / "phones.txt").write_text(phone_lines())
    boundary = "".join(f"{line}\n" for line in word_boundary_lines())
    (folder / "graph" / "phones" / "word_boundary.int").write_text(boundary)
    # Sums and count as if 100,000 frames had been seen; only the mean is used.
    sums = " ".join(f"{value * 1e5:.4f}" for value in global_mean)
    squares = " ".join(f"{value * value * 1e5 + 1e5:.1f}" for value in global_mean)
    (folder / "am" / "global_cmvn.stats").write_text(f" [\n  {sums} 100000\n  {squares} 0 ]\n")
