"""Fisher's exact test: may two shares be the same?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

ALIKE = 1e-7  # tables this near to the observed one's chance count as equally likely


def fisher(k1: int, n1: int, k2: int, n2: int) -> float:
    """Two-sided p of k1 of n1 beside k2 of n2.

    The chance, with the margins as they are, of a table that is no more likely than the one
    observed. 1 where a margin is empty.
    Source: Fisher 1935; the same sum as scipy.stats.fisher_exact, whose import takes longer
    than most answers.
    """
    cases = k1 + k2
    first = np.arange(max(0, cases - n2), min(n1, cases) + 1)
    logs = _choices(n1, first) + _choices(n2, cases - first)
    chances = np.exp(logs - logs.max())
    here = chances[k1 - first[0]]
    return float(min(1.0, chances[chances <= here * (1 + ALIKE)].sum() / chances.sum()))


def _choices(n: int, k: NDArray[np.int64]) -> NDArray[np.float64]:
    """Logarithms of the numbers of ways to choose k of n."""
    from scipy.special import gammaln

    return np.asarray(gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1))
