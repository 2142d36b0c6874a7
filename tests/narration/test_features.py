"""What the reader is told, and the reader's arithmetic against the long way."""

import json

import numpy as np
import pytest

from indexer.models.timed import Word
from indexer.narration.assertion import cue_scopes, parted_before, shipped_phrases
from indexer.narration.features import BUCKETS, CHANNELS, PIECES, PLAIN, PUNCTUATION, features
from indexer.narration.lexicon import Hit, Kind
from indexer.narration.meanings import WIDTH, meanings
from indexer.narration.reader import ASSERTIONS, Network, read_learned
from indexer.narration.tokens import BREAKS, tokens_of

CONCEPTS, STEPS, HIDDEN, WORDS, NAMED = 3, 2, 6, 4, 5
DILATIONS = (1, 2)


def weights(seed: int) -> dict[str, np.ndarray]:
    chance = np.random.default_rng(seed)

    def some(*shape: int) -> np.ndarray:
        return chance.normal(size=shape).astype(np.float16).astype(np.float32)

    made = {
        "w.weight": some(BUCKETS, WORDS), "p.weight": some(BUCKETS + 1, WORDS), "skip": some(len(CHANNELS)),
        "bag.weight": some(HIDDEN, CONCEPTS), "bag.bias": some(HIDDEN),
        "inp.weight": some(HIDDEN, 2 * WORDS + WIDTH + NAMED * len(CHANNELS) + PLAIN), "inp.bias": some(HIDDEN),
        "step.weight": some(STEPS, HIDDEN), "step.bias": some(STEPS), "con.weight": some(CONCEPTS, HIDDEN + NAMED),
        "con.bias": some(CONCEPTS), "ass.weight": some(len(ASSERTIONS), HIDDEN), "ass.bias": some(len(ASSERTIONS)),
        "beg.weight": some(1, HIDDEN), "beg.bias": some(1),
    }  # fmt: skip
    made["p.weight"][0] = 0
    for channel in range(len(CHANNELS)):
        made[f"k.{channel}"] = some(CONCEPTS, NAMED)
    for number in range(len(DILATIONS)):
        made |= {f"convs.{number}.weight": some(HIDDEN, HIDDEN, 3), f"convs.{number}.bias": some(HIDDEN)}
        made |= {f"norm.{number}.weight": some(HIDDEN), f"norm.{number}.bias": some(HIDDEN)}
    return made


@pytest.fixture
def described():
    words = [
        Word(text=text, start_ms=at * 400, end_ms=at * 400 + 300, cue=0)
        for at, text in enumerate(["no", "ring", "but", "a", "hook"])
    ]
    tokens = tokens_of(words)
    hits = [Hit(1, 2, "ring", Kind.SPOKEN), Hit(4, 5, "hook", Kind.SOUND, 0.2), Hit(4, 5, "unknown", Kind.LOOSE)]
    numbers = {"ring": 0, "hook": 1, "third": 2}
    scopes = cue_scopes(tokens.texts, parted_before(tokens), shipped_phrases())
    return features(tokens, hits, numbers, [0.1, 0.5, 0.0, 0.0, 0.6], {}, scopes)


def test_a_denial_reaches_to_the_end_of_its_clause(described):
    absent = PUNCTUATION - 10 + [kind.value for kind in ASSERTIONS].index("absent")
    assert described.plain[1, absent] == pytest.approx(1)
    assert described.plain[4, absent] == 0


def test_what_is_written_between_the_words_is_told():
    said = ["No,", "no", "ring?", "A", "hook."]
    tokens = tokens_of(
        [Word(text=text, start_ms=at * 400, end_ms=at * 400 + 300, cue=0) for at, text in enumerate(said)]
    )
    assert tokens.breaks == [",", "", "?", "", "."]
    told = features(tokens, [], {}, [0.0] * 5, {}, np.zeros((5, 10), np.float32)).plain[:, PUNCTUATION:]
    before, behind = told[:, : len(BREAKS)], told[:, len(BREAKS) :]
    assert [int(row[1:].argmax() + 1) if row[1:].any() else 0 for row in behind] == [1, 0, 3, 0, 2]
    assert [int(row[1:].argmax() + 1) if row[1:].any() else 0 for row in before] == [2, 1, 0, 3, 0]
    assert before[:, 0] == pytest.approx(1)
    assert parted_before(tokens) == [False, False, False, True, False]


def test_words_used_alike_lie_near_each_other():
    knife, blade, monday, nothing = meanings(["knife", "blade", "monday", "qzxv"])

    def alike(one, other):
        return float(one @ other / np.linalg.norm(one) / np.linalg.norm(other))

    assert alike(knife, blade) > 0.4 > alike(knife, monday)
    assert not nothing.any()


def test_unknown_concepts_are_told_by_flags_alone(described):
    loose = CHANNELS.index("loose")
    assert described.plain[4, loose] == 1
    assert len(described.hits[loose][0]) == 0


def longhand(w: dict[str, np.ndarray], f) -> np.ndarray:
    """The step scores, one token and one sum at a time."""
    rows = []
    for at in range(len(f.words)):
        pieces = [w["p.weight"][piece] for piece in f.pieces[at] if piece]
        told = []
        for channel, (tokens, concepts, amounts) in enumerate(f.hits):
            vector = np.zeros(NAMED)
            for token, concept, amount in zip(tokens, concepts, amounts, strict=True):
                if token == at:
                    vector = vector + w[f"k.{channel}"][concept] * amount
            told.append(vector)
        x = np.concatenate([w["w.weight"][f.words[at]], np.mean(pieces, 0), f.meaning[at], *told, f.plain[at]])
        rows.append(np.maximum(0, w["inp.weight"] @ x + w["inp.bias"] + w["bag.weight"] @ f.bag + w["bag.bias"]))
    for number, reach in enumerate(DILATIONS):
        normed = []
        for row in rows:
            scaled = (row - row.mean()) / np.sqrt(row.var() + 1e-5)
            normed.append(scaled * w[f"norm.{number}.weight"] + w[f"norm.{number}.bias"])
        grown = []
        for at, row in enumerate(rows):
            total = w[f"convs.{number}.bias"].astype(float).copy()
            for tap, offset in enumerate((-reach, 0, reach)):
                if 0 <= at + offset < len(rows):
                    total += w[f"convs.{number}.weight"][:, :, tap] @ normed[at + offset]
            grown.append(row + np.maximum(0, total))
        rows = grown
    return np.array([w["step.weight"] @ row + w["step.bias"] for row in rows])


def test_the_network_computes_what_it_says(described):
    w = weights(5)
    assert Network(w, DILATIONS).read(described)[0] == pytest.approx(longhand(w, described), rel=1e-3, abs=1e-3)


def test_learned_weights_come_back_from_their_file(described, tmp_path):
    about = {
        "networks": 2,
        "dilations": DILATIONS,
        "channels": CHANNELS,
        "steps": ["a", "b"],
        "concepts": ["ring", "hook", "third"],
    }
    arrays = {f"{number}/{name}": value for number in range(2) for name, value in weights(number).items()}
    np.savez(tmp_path / "learned.npz", about=np.frombuffer(json.dumps(about).encode(), np.uint8), **arrays)
    reader = read_learned((tmp_path / "learned.npz").read_bytes())
    reading = reader.read(described)
    assert reading.steps.shape == (5, 2)
    assert np.exp(reading.steps).sum(1) == pytest.approx(1, abs=1e-5)
    assert described.pieces.shape[1] == PIECES
