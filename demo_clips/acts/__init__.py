"""The steps of an operation as movements: each act changes an eye and holds instruments."""

from __future__ import annotations

from demo_clips.acts import breaking, closing, entering, implanting, opening, removing, rescue
from demo_clips.acts.hands import Act

ACTS: dict[str, Act] = {
    name: act
    for room in (entering, opening, breaking, removing, implanting, rescue, closing)
    for name, act in room.ACTS.items()
}
"""Every act by its name in the scenarios."""
