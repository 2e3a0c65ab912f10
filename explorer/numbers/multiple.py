"""Many tests at once: how many of the findings may be false."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def benjamini_hochberg(ps: ArrayLike) -> NDArray[np.float64]:
    """Adjusted p-values of one family of tests, in the order and shape given.

    A finding at an adjusted p of at most q keeps the expected share of false ones
    among all findings below q. NaN marks a test that was not made: it does not
    count and stays NaN.
    Source: Benjamini and Hochberg, Journal of the Royal Statistical Society B
    57:289-300 (1995).
    """
    given = np.asarray(ps, dtype=float)
    adjusted = np.full(given.shape, np.nan)
    made = ~np.isnan(given)
    values = given[made]
    order = np.argsort(values)[::-1]  # the largest first
    raised = values[order] * len(values) / np.arange(len(values), 0, -1)
    values[order] = np.minimum(1, np.minimum.accumulate(raised))
    adjusted[made] = values
    return adjusted
