"""Part files laid end to end, so that they are one recording with one clock."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from pathlib import Path

from indexer.models.footage import Part, Probe


def lay_out_parts(paths: Sequence[Path], probes: Sequence[Probe]) -> tuple[Part, ...]:
    """Each part begins where the one before ends: after its last frame, by what was read, not by what its head says."""
    starts = accumulate((probe.duration_ms for probe in probes), initial=0)
    return tuple(
        Part(path=path, probe=probe, start_ms=start) for path, probe, start in zip(paths, probes, starts, strict=False)
    )


def length_ms(probes: Sequence[Probe]) -> int:
    """Length of the whole recording."""
    return sum(probe.duration_ms for probe in probes)
