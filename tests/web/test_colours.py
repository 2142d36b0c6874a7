"""Contrast of every pair of colours that the site puts on each other, computed from the tokens of its stylesheet."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import pytest

from indexer.vocabulary.loading import load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary
from tests.web.oklch import Lch, contrast, linear_srgb
from web.colours import hue_and_lift, ordered_steps, step_stylesheet

SHEET = (Path(__file__).parents[2] / "web" / "static" / "site.css").read_text(encoding="utf-8")
NUMBER = r"([\d.]+)"
TOKEN = re.compile(
    rf"--([a-z0-9-]+): light-dark\(oklch\({NUMBER} {NUMBER} {NUMBER}\), oklch\({NUMBER} {NUMBER} {NUMBER}\)\);"
)
STEP_PART = r"oklch\(calc\(([\d.]+) \+ var\(--lift\)( / 2)?\) ([\d.]+) var\(--hue\)\)"
STEP_TOKEN = re.compile(rf"--(solid|tint|tint-2): light-dark\({STEP_PART}, {STEP_PART}\);")
TEXT, GRAPHIC = 4.5, 3.0
"""WCAG 2.2, success criteria 1.4.3 (AA) and 1.4.11."""


def tokens(look: str) -> dict[str, Lch]:
    """The plain colours of one look, by name."""
    shift = 0 if look == "light" else 3
    return {
        match[1]: (float(match[2 + shift]), float(match[3 + shift]), float(match[4 + shift]))
        for match in TOKEN.finditer(SHEET)
    }


def step_colours(look: str, hue: float, lift: float) -> dict[str, Lch]:
    """What the stylesheet makes of a step's hue and lift."""
    shift = 0 if look == "light" else 3
    return {
        match[1]: (float(match[2 + shift]) + (lift / 2 if match[3 + shift] else lift), float(match[4 + shift]), hue)
        for match in STEP_TOKEN.finditer(SHEET)
    }


@pytest.mark.parametrize(
    ("colour", "red", "green", "blue"),
    [
        # Values of CSS Color 4 for sRGB red, lime and blue, from memory.
        ((0.62796, 0.25768, 29.234), 1, 0, 0),
        ((0.86644, 0.29483, 142.495), 0, 1, 0),
        ((0.45201, 0.31321, 264.052), 0, 0, 1),
        ((1, 0, 0), 1, 1, 1),
    ],
)
def test_the_arithmetic_finds_the_primaries(colour: Lch, red: float, green: float, blue: float) -> None:
    assert linear_srgb(colour) == pytest.approx((red, green, blue), abs=2e-3)


def test_the_arithmetic_finds_the_contrast_of_black_and_white() -> None:
    assert contrast((0, 0, 0), (1, 0, 0)) == pytest.approx(21)


def test_the_tokens_are_found() -> None:
    assert len(tokens("dark")) >= 11
    assert set(step_colours("dark", 100, 0)) == {"solid", "tint", "tint-2"}


@pytest.mark.parametrize("look", ["dark", "light"])
@pytest.mark.parametrize(
    ("ink", "paper", "least"),
    [
        *[("text", paper, TEXT) for paper in ("ground", "raised", "sunken", "now-wash", "warn-wash")],
        *[("quiet", paper, TEXT) for paper in ("ground", "raised", "sunken")],
        *[("now", paper, TEXT) for paper in ("ground", "raised", "sunken")],
        *[("warn", paper, TEXT) for paper in ("ground", "warn-wash")],
        ("on-now", "now", TEXT),
        *[("edge", paper, GRAPHIC) for paper in ("ground", "raised", "sunken")],
    ],
)
def test_contrast_of_the_page(look: str, ink: str, paper: str, least: float) -> None:
    colours = tokens(look)
    assert contrast(colours[ink], colours[paper]) >= least


@pytest.mark.parametrize("look", ["dark", "light"])
def test_contrast_of_every_step_of_the_vocabulary(look: str) -> None:
    vocabulary = load_vocabulary()
    colours = tokens(look)
    steps = ordered_steps(vocabulary)
    for step in steps:
        own = step_colours(look, *hue_and_lift(vocabulary.place(step), len(steps)))
        for paper in ("tint", "tint-2"):
            assert contrast(colours["text"], own[paper]) >= TEXT, (step, paper)
            assert contrast(colours["now"], own[paper]) >= TEXT, (step, paper)
        assert contrast(own["solid"], colours["ground"]) >= GRAPHIC, step


def test_every_step_has_its_own_colour(vocabulary: Vocabulary) -> None:
    rules = step_stylesheet(vocabulary).strip().splitlines()
    assert len(rules) == len(ordered_steps(vocabulary))
    assert len({rule.split("{")[1] for rule in rules}) == len(rules)


def test_neighbours_differ_in_lightness() -> None:
    lifts = [hue_and_lift(place, 40)[1] for place in range(1, 41)]
    assert all(one != other for one, other in itertools.pairwise(lifts))


def test_the_ramp_runs_from_blue_to_rose() -> None:
    assert hue_and_lift(1, 40)[0] == 262 and hue_and_lift(40, 40)[0] == 0
