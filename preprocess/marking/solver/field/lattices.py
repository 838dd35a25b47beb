"""Points on which heat is smooth, and values between them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats


def lattice_over(points: Floats, step: float) -> Floats:
    """Points `step` apart over the range of others; those themselves where they are fewer."""
    count = max(2, int(np.ceil((points[-1] - points[0]) / step)) + 1)
    return points if count >= len(points) else np.linspace(points[0], points[-1], count)


def between_points(values: Floats, known: Floats, wanted: Floats) -> Floats:
    """Rows of values at known places, linearly between them at wanted ones."""
    if known is wanted:
        return values
    where = np.interp(wanted, known, np.arange(len(known)))
    below = np.minimum(where.astype(np.int64), len(known) - 2)
    share = (where - below)[:, None]
    return np.asarray(values[below] * (1 - share) + values[below + 1] * share)
