"""An oracle for areas: rows across the raw contours against rows across the result.

The rows are turned by angles that no call under test has used.
"""

import numpy as np

from preprocess.geometry.base.sweep import rings_of, sweep_contours

ANGLES = (0.6, 2.17)


def turned(points, angle):
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray(points, float) @ np.array([[cos, sin], [-sin, cos]])


def lengths(contours, rule, rows):
    runs = sweep_contours(contours, rule, rows)
    return np.bincount(runs.row, weights=runs.end - runs.start, minlength=len(rows))


def worst_row(contours, rule, area, count=997):
    """Largest difference of the lit length of one row, in mm."""
    worst = 0.0
    for angle in ANGLES:
        raw = [turned(c, angle) for c in contours if len(c)]
        result = [turned(c, angle) for c in rings_of(area)]
        points = np.concatenate(raw)
        low, high = points[:, 1].min(), points[:, 1].max()
        rows = low + (np.arange(count) + 0.5) * (high - low) / count
        gap = np.abs(lengths(raw, rule, rows) - lengths(result, "evenodd", rows))
        worst = max(worst, gap.max())
    return worst


def area_error(contours, rule, area, count=2003):
    """Difference of the areas that the rows sum to, in mm²."""
    raw = [turned(c, 0.6) for c in contours if len(c)]
    result = [turned(c, 0.6) for c in rings_of(area)]
    points = np.concatenate(raw)
    low, step = points[:, 1].min(), np.ptp(points[:, 1]) / count
    rows = low + (np.arange(count) + 0.5) * step
    gap = lengths(raw, rule, rows) - lengths(result, "evenodd", rows)
    return abs(gap.sum()) * step
