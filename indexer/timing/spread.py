"""Number, median, quartiles and range."""

from __future__ import annotations

from collections.abc import Sequence

from indexer.models.timing import Spread


def spread(values: Sequence[float]) -> Spread | None:
    """How the values lie; None where there are none. Quartiles interpolate linearly between order statistics."""
    if not values:
        return None
    import numpy as np

    low, lower, median, upper, high = (
        float(each) for each in np.percentile(np.asarray(values, float), (0, 25, 50, 75, 100))
    )
    return Spread(n=len(values), median=median, lower=lower, upper=upper, low=low, high=high)
