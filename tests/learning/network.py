"""The reader's network in PyTorch, for learning. `indexer.narration.reader` runs the same in numpy; a test compares them."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from indexer.narration.features import BUCKETS, CHANNELS, PLAIN, PUNCTUATION, Features
from indexer.narration.meanings import WIDTH
from indexer.narration.reader import ASSERTIONS

DILATIONS = (1, 2, 4, 8, 16, 32)


class Answers(NamedTuple):
    """Raw scores for n tokens."""

    steps: Tensor
    concepts: Tensor
    assertions: Tensor
    begins: Tensor


class Network(nn.Module):
    """Words, pieces and hints in; a stack of widening convolutions; four answers out."""

    def __init__(
        self, concepts: int, steps: int, *, words: int = 48, named: int = 40, hidden: int = 128, drop: float = 0.3
    ) -> None:
        super().__init__()
        self.w = nn.Embedding(BUCKETS, words)
        self.p = nn.Embedding(BUCKETS + 1, words, padding_idx=0)
        nn.init.normal_(self.w.weight, std=0.1)
        nn.init.normal_(self.p.weight, std=0.1)
        with torch.no_grad():
            self.p.weight[0] = 0
        self.k = nn.ParameterList([nn.Parameter(torch.randn(concepts, named) * 0.1) for _ in CHANNELS])
        self.skip = nn.Parameter(torch.ones(len(CHANNELS)))
        self.bag = nn.Linear(concepts, hidden)
        self.inp = nn.Linear(2 * words + WIDTH + named * len(CHANNELS) + PLAIN, hidden)
        self.convs = nn.ModuleList([nn.Conv1d(hidden, hidden, 3, padding=reach, dilation=reach) for reach in DILATIONS])
        self.norm = nn.ModuleList([nn.LayerNorm(hidden) for _ in DILATIONS])
        self.step = nn.Linear(hidden, steps)
        self.con = nn.Linear(hidden + named, concepts)
        self.ass = nn.Linear(hidden, len(ASSERTIONS))
        self.beg = nn.Linear(hidden, 1)
        self.drop = nn.Dropout(drop)
        nn.init.constant_(self.con.bias, -4.0)

    def forward(
        self,
        f: Features,
        drop_words: float = 0.0,
        drop_hits: float = 0.0,
        drop_pauses: float = 0.0,
        drop_breaks: float = 0.0,
    ) -> Answers:
        count = len(f.words)
        pieces = torch.from_numpy(f.pieces)
        spelled = self.p(pieces).sum(1) / (pieces > 0).sum(1, keepdim=True).clamp(min=1)
        said = torch.cat([self.w(torch.from_numpy(f.words)), spelled, torch.from_numpy(f.meaning)], -1)
        if drop_words:
            said = said * (torch.rand(count, 1) > drop_words)
        named, direct = self._hits(f, drop_hits)
        plain = torch.from_numpy(f.plain)
        if drop_pauses and float(torch.rand(())) < drop_pauses:
            plain = plain.clone()
            plain[:, 2 * len(CHANNELS) : 2 * len(CHANNELS) + 2] = 0
        if drop_breaks and float(torch.rand(())) < drop_breaks:
            plain = plain.clone()
            plain[:, PUNCTUATION:] = 0
        x = torch.cat([said, *named, plain], -1)
        x = self.drop(functional.relu(self.inp(x) + self.bag(torch.from_numpy(f.bag))))
        for convolve, norm in zip(self.convs, self.norm, strict=True):
            x = x + self.drop(functional.relu(convolve(norm(x).T[None])[0].T))
        concepts = self.con(torch.cat([x, named[0] + named[3]], -1)) + direct
        return Answers(self.step(x), concepts, self.ass(x), self.beg(x)[:, 0])

    def _hits(self, f: Features, drop: float) -> tuple[list[Tensor], Tensor]:
        count = len(f.words)
        direct = torch.zeros(count, len(f.bag))
        named = []
        for channel, (tokens, concepts, weights) in enumerate(f.hits):
            vectors = torch.zeros(count, self.k[channel].shape[1])
            if len(tokens):
                at, which, weight = torch.from_numpy(tokens), torch.from_numpy(concepts), torch.from_numpy(weights)
                if drop:
                    weight = weight * (torch.rand(len(weight)) > drop)
                vectors = vectors.index_add(0, at, self.k[channel][which] * weight[:, None])
                direct = direct.index_put((at, which), weight * self.skip[channel], accumulate=True)
            named.append(vectors)
        return named, direct


def stored(networks: Sequence[Network], steps: Sequence[str], concepts: Sequence[str], learned_from: str) -> bytes:
    """The networks as `indexer.narration.reader.read_learned` reads them; weights in half precision."""
    about = {
        "networks": len(networks),
        "dilations": list(DILATIONS),
        "channels": list(CHANNELS),
        "steps": list(steps),
        "concepts": list(concepts),
        "learned_from": learned_from,
    }
    arrays = {"about": np.frombuffer(json.dumps(about).encode(), np.uint8)}
    for number, network in enumerate(networks):
        for name, value in network.state_dict().items():
            arrays[f"{number}/{name}"] = value.numpy().astype(np.float16)
    file = io.BytesIO()
    np.savez_compressed(file, **arrays)
    return file.getvalue()
