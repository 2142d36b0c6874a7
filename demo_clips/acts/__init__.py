"""The steps of an operation as movements: each act changes an eye and holds instruments, for a share `u` of its time."""

from __future__ import annotations

from demo_clips.acts import cataract, closing, entering, implanting, opening, rescue
from demo_clips.acts.hands import Act

ACTS: dict[str, Act] = {
    name: act
    for room in (entering, opening, cataract, implanting, rescue, closing)
    for name, act in room.ACTS.items()
}
"""Every act by its name in the scenarios."""
