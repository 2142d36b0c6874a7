"""OKLCH to relative luminance, and WCAG contrast: the arithmetic of CSS Color 4 and WCAG 2.2."""

from __future__ import annotations

import math

Lch = tuple[float, float, float]


def linear_srgb(colour: Lch) -> tuple[float, float, float]:
    """Linear-light sRGB of an OKLCH colour, cut to the gamut. Matrices of CSS Color 4, section 18."""
    lightness, chroma, hue = colour
    a, b = chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    red = 4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short
    green = -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short
    blue = -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short
    return (_cut(red), _cut(green), _cut(blue))


def contrast(one: Lch, other: Lch) -> float:
    """Contrast ratio of two colours as WCAG 2.2 defines it, 1 to 21."""
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: Lch) -> float:
    red, green, blue = linear_srgb(colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _cut(value: float) -> float:
    return min(1.0, max(0.0, value))
