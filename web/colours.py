"""The colours of the steps: one ramp of hue along the usual order of the vocabulary, written as a stylesheet.

Nothing here is a hand-made table. A step's hue is its place in the order, from blue through green and gold to rose;
its lightness alternates a little, so that neighbours differ. What the stylesheet of the site makes of hue and lift
(solid edge, tint, hatch; dark and light) stands there.
"""

from __future__ import annotations

from collections.abc import Iterable

from indexer.vocabulary.vocabulary import Vocabulary

FIRST_HUE = 262.0
"""Degrees of OKLCH hue at the first place: blue."""
LAST_HUE = 0.0
"""Degrees of OKLCH hue at the last place: rose."""
LIFT = 0.025
"""How far lightness swings up and down between neighbours."""


def hue_and_lift(place: int, places: int) -> tuple[float, float]:
    """Hue in degrees and added lightness of the step at `place` (from 1) of `places`."""
    share = (place - 1) / max(1, places - 1)
    return round(FIRST_HUE + (LAST_HUE - FIRST_HUE) * share, 1), LIFT if place % 2 else -LIFT


def ordered_steps(vocabulary: Vocabulary) -> list[str]:
    """Ids of all parts and steps in the usual order."""
    ids = [concept.id for facet in ("part", "step") for concept in vocabulary.of_facet(facet)]
    return sorted(ids, key=vocabulary.place)


def step_stylesheet(vocabulary: Vocabulary) -> str:
    """One rule for each part and step: `[data-step="..."]{--hue:...;--lift:...}`."""
    steps = ordered_steps(vocabulary)
    places = max((vocabulary.place(step) for step in steps), default=1)
    rules: Iterable[str] = (
        f'[data-step="{step}"]{{--hue:{hue};--lift:{lift}}}'
        for step in steps
        for hue, lift in [hue_and_lift(vocabulary.place(step), places)]
    )
    return "\n".join(rules) + "\n"
