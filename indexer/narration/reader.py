"""The reader: a small network of convolutions that reads a narration once and says, for each word, what it is about.

It was learned from marked narrations (DEVELOPERS.md tells how) and runs in numpy alone. For each token it gives how likely
each step is going on, how likely the token belongs to a naming of each concept, how the naming is meant, and whether a
naming begins there. What the vocabulary says of the words (see `features`) is part of what it reads; it decides what to
believe of it by what stands within a minute around, and by what is named in the whole case.

A file holds several such networks that were learned from different random beginnings; their answers are averaged.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from importlib import resources
from importlib.abc import Traversable
from io import BytesIO
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from indexer.models.tagged import AssertionKind
from indexer.narration.features import CHANNELS, Features

Floats = npt.NDArray[np.float32]
ASSERTIONS = tuple(AssertionKind)


class Reading(NamedTuple):
    """What the reader made of n tokens."""

    steps: Floats
    """Natural log of the probability of each step: (n, steps)."""
    concepts: Floats
    """Log odds that the token is part of a naming of each concept: (n, concepts)."""
    assertions: Floats
    """Natural log of the probability of each assertion, were the token part of a naming: (n, 5)."""
    begins: Floats
    """Log odds that a naming begins at the token, were it part of one: (n,)."""


def log_softmax(values: Floats) -> Floats:
    """Natural log of the softmax over the last axis."""
    top = values - values.max(axis=-1, keepdims=True)
    return np.asarray(top - np.log(np.exp(top).sum(axis=-1, keepdims=True)), np.float32)


def _mean(arrays: Sequence[Floats]) -> Floats:
    """The mean of arrays of one shape."""
    return np.asarray(np.mean(np.stack(arrays), axis=0), np.float32)


class Network:
    """One learned network; `weights` are named as the learning names them."""

    def __init__(self, weights: dict[str, Floats], dilations: Sequence[int]) -> None:
        self._w = weights
        self._dilations = dilations
        # (outputs, inputs, 3) as one matrix over what lies before, here and behind: (3 inputs, outputs).
        self._kernels = [
            np.concatenate([weights[f"convs.{number}.weight"][:, :, place].T for place in range(3)])
            for number in range(len(dilations))
        ]

    def read(self, f: Features) -> tuple[Floats, Floats, Floats, Floats]:
        """Step scores, concept log odds, assertion scores, begin log odds; see Reading."""
        w = self._w
        named, direct = self._hits(f)
        x = np.concatenate([w["w.weight"][f.words], self._pieces(f), f.meaning, *named, f.plain], axis=1)
        x = np.maximum(0, x @ w["inp.weight"].T + (w["inp.bias"] + w["bag.weight"] @ f.bag + w["bag.bias"]))
        for number, reach in enumerate(self._dilations):
            x += np.maximum(0, self._convolve(self._norm(x, number), number, reach))
        concepts = np.concatenate([x, named[0] + named[3]], axis=1) @ w["con.weight"].T + w["con.bias"] + direct
        begins = x @ w["beg.weight"][0] + w["beg.bias"][0]
        return x @ w["step.weight"].T + w["step.bias"], concepts, x @ w["ass.weight"].T + w["ass.bias"], begins

    def _pieces(self, f: Features) -> Floats:
        """The mean of the learned vectors of each token's pieces: (n, width). The vector of no piece is zero."""
        table = self._w["p.weight"]
        total = table[f.pieces[:, 0]]
        for column in range(1, f.pieces.shape[1]):
            longer = np.flatnonzero(f.pieces[:, column])
            total[longer] += table[f.pieces[longer, column]]
        return np.asarray(total / np.maximum(1, (f.pieces > 0).sum(1, keepdims=True, dtype=np.float32)), np.float32)

    def _hits(self, f: Features) -> tuple[list[Floats], Floats]:
        """The vocabulary's word on each token: learned vectors of the concepts of each channel, and the hits as they are."""
        shape = len(f.words), len(f.bag)
        direct = np.zeros(shape, np.float32)
        named = []
        for channel, (tokens, concepts, weights) in enumerate(f.hits):
            added = np.bincount(tokens * shape[1] + concepts, weights, shape[0] * shape[1])
            heard = added.astype(np.float32).reshape(shape)
            named.append(np.asarray(heard @ self._w[f"k.{channel}"], np.float32))
            direct += heard * self._w["skip"][channel]
        return named, direct

    def _norm(self, x: Floats, number: int) -> Floats:
        centred = x - x.mean(1, keepdims=True)
        spread = np.sqrt(np.einsum("nw,nw->n", centred, centred) / np.float32(x.shape[1]) + np.float32(1e-5))
        centred *= self._w[f"norm.{number}.weight"] / spread[:, None]
        centred += self._w[f"norm.{number}.bias"]
        return np.asarray(centred, np.float32)

    def _convolve(self, x: Floats, number: int, reach: int) -> Floats:
        size, width = x.shape
        around = np.zeros((size, 3 * width), np.float32)
        around[reach:, :width] = x[: max(0, size - reach)]
        around[:, width : 2 * width] = x
        around[: max(0, size - reach), 2 * width :] = x[reach:]
        return np.asarray(around @ self._kernels[number] + self._w[f"convs.{number}.bias"], np.float32)


class Reader:
    """The learned networks of one field, with the concepts and steps that they know."""

    def __init__(self, networks: Sequence[Network], steps: Sequence[str], concepts: Sequence[str]) -> None:
        self.networks = tuple(networks)
        self.steps = tuple(steps)
        self.concepts = tuple(concepts)
        self.numbers = {concept: number for number, concept in enumerate(concepts)}

    def read(self, features: Features) -> Reading:
        """Read a narration of any length, even none."""
        if not len(features.words):
            return Reading(
                np.zeros((0, len(self.steps)), np.float32),
                np.zeros((0, len(self.concepts)), np.float32),
                np.zeros((0, len(ASSERTIONS)), np.float32),
                np.zeros(0, np.float32),
            )
        answers = [network.read(features) for network in self.networks]
        return Reading(
            log_softmax(_mean([log_softmax(answer[0]) for answer in answers])),
            _mean([answer[1] for answer in answers]),
            log_softmax(_mean([log_softmax(answer[2]) for answer in answers])),
            _mean([answer[3] for answer in answers]),
        )


def read_learned(data: bytes) -> Reader:
    """Make a reader from the bytes of a file of learned weights."""
    with np.load(BytesIO(data), allow_pickle=False) as stored:
        about = json.loads(bytes(stored["about"]).decode())
        networks = []
        for number in range(about["networks"]):
            start = f"{number}/"
            weights = {
                name.removeprefix(start): stored[name].astype(np.float32)
                for name in stored.files
                if name.startswith(start)
            }
            networks.append(Network(weights, about["dilations"]))
    if about["channels"] != list(CHANNELS):
        raise ValueError("these weights were learned for another set of hints from the vocabulary")
    return Reader(networks, about["steps"], about["concepts"])


def shipped_reader(field: str) -> Reader | None:
    """The reader that ships for a field of surgery, or None where nobody has taught one yet."""
    source: Traversable = resources.files("schemas").joinpath("learned", f"{field}.npz")
    return read_learned(source.read_bytes()) if source.is_file() else None
