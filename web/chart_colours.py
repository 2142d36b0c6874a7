"""The ramp of step colours as sRGB, for charts that are drawn before the page knows whether it is dark or light."""

from __future__ import annotations

import math

from indexer.vocabulary.vocabulary import Vocabulary
from web.colours import hue_and_lift, ordered_steps

LIGHTNESS = 0.7
"""Between the solid colours of the dark and of the light page, so that black numbers can be read on it."""
CHROMA = 0.11


def chart_colours(vocabulary: Vocabulary) -> dict[str, str]:
    """From step to colour."""
    steps = ordered_steps(vocabulary)
    places = max((vocabulary.place(step) for step in steps), default=1)
    found = {}
    for step in steps:
        hue, lift = hue_and_lift(vocabulary.place(step), places)
        found[step] = srgb(LIGHTNESS + lift, CHROMA, hue)
    return found


def srgb(lightness: float, chroma: float, hue: float) -> str:
    """An OKLCH colour as #rrggbb, cut to the gamut. Matrices and transfer function of CSS Color 4, section 18."""
    a, b = chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    linear = (
        4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short,
    )
    return "#" + "".join(f"{round(255 * _encoded(min(1.0, max(0.0, value)))):02x}" for value in linear)


def _encoded(value: float) -> float:
    return 12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055
