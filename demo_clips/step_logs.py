"""Invented operations as step logs: what a surgeon of the Marrowmere eye unit, which does not exist, wrote down.

Median lengths are those published for 101 operations (Cataract-101, computed from its annotations); how they vary, and
that dense lenses take longer and phacoemulsification became quicker half way, is invented.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

SEED = 34
OPERATIONS = 36
QUICKER_FROM = 20
FIRST_DAY = date(2025, 9, 1)
SPREAD = 0.3
"""Standard deviation of the logarithms of lengths."""
MEDIANS_S = (
    ("Main incision", 16.8),
    ("Anterior chamber fill", 10.3),
    ("Capsulorhexis", 34.4),
    ("Hydrodissection", 27.5),
    ("Phacoemulsification", 121.3),
    ("Cortical aspiration", 51.0),
    ("Capsule polishing", 16.6),
    ("Capsular bag fill", 8.0),
    ("Lens implantation", 25.1),
    ("Viscoelastic removal", 48.8),
    ("Wound closure", 24.9),
)
NOTHING = "nothing"
"""Written where no step goes on."""
END = "end"


@dataclass(frozen=True)
class Eyes:
    """Operations of one kind of eye, a log of their own."""

    key: str
    findings: tuple[str, ...]
    used: tuple[str, ...]
    slower: dict[str, float]
    """Steps that take longer by this factor."""
    more: tuple[tuple[str, str, float], ...] = ()
    """Step that comes after another one, and its median in seconds."""


KINDS = (
    Eyes("plain", (), ("divide-and-conquer",), {}),
    Eyes("dense", ("dense-nucleus",), ("vertical-chop",), {"Phacoemulsification": 1.6}),
    Eyes("small", ("small-pupil",), ("divide-and-conquer",), {"Capsulorhexis": 1.3},
         (("Pupil expansion", "Anterior chamber fill", 45.0),)),
    Eyes("torn", ("dense-nucleus",), ("vertical-chop", "posterior-capsule-rupture"), {"Lens implantation": 1.8},
         (("Anterior vitrectomy", "Phacoemulsification", 90.0),)),
)  # fmt: skip


@dataclass(frozen=True)
class DemoLog:
    """A log of some operations, and what is said of all of them."""

    path: Path
    findings: tuple[str, ...]
    used: tuple[str, ...]
    operator: str = "Wren"
    title: str = "Logged"


def make_step_logs(folder: Path) -> list[DemoLog]:
    """Write the logs into a folder, always the same ones."""
    folder.mkdir(parents=True, exist_ok=True)
    chance = random.Random(SEED)
    texts = {kind.key: io.StringIO() for kind in KINDS}
    writers = {key: csv.writer(text, lineterminator="\n") for key, text in texts.items()}
    for writer in writers.values():
        writer.writerow(("operation", "date", "time", "step"))
    day = FIRST_DAY
    for number in range(1, OPERATIONS + 1):
        kind = _kind(number, chance)
        for at_s, step in _changes(kind, number >= QUICKER_FROM, chance):
            writers[kind.key].writerow((f"{number:02}", day.isoformat(), f"{at_s:.1f}", step))
        day += timedelta(days=chance.choice((2, 3, 5, 7)))
    return [_written(kind, texts[kind.key].getvalue(), folder) for kind in KINDS]


def _kind(number: int, chance: random.Random) -> Eyes:
    plain, dense, small, torn = KINDS
    if number == 14:
        return torn
    return chance.choices((plain, dense, small), (6, 3, 2))[0]


def _changes(kind: Eyes, quicker: bool, chance: random.Random) -> Iterator[tuple[float, str]]:
    """Seconds and step of every change, the end last."""
    steps = []
    for step, median in MEDIANS_S:
        slower = kind.slower.get(step, 1.0) * (0.75 if quicker and step == "Phacoemulsification" else 1.0)
        steps.append((step, median * slower))
        steps += [(more, longer) for more, after, longer in kind.more if after == step]
    at_s = chance.uniform(2, 12)
    for step, median in steps:
        yield at_s, step
        at_s += median * chance.lognormvariate(0, SPREAD)
        if chance.random() < 0.4:
            yield at_s, NOTHING
            at_s += chance.uniform(2, 15)
    yield at_s, END


def _written(kind: Eyes, text: str, folder: Path) -> DemoLog:
    path = folder / f"log_{kind.key}.csv"
    path.write_text(text, encoding="utf-8")
    return DemoLog(path=path, findings=kind.findings, used=kind.used)
