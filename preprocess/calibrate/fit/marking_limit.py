"""The marking limit: a bound on `marks_from`, the least power that leaves a mark.

`weak` stands for a faint mark and for none alike, so no grade tells where a mark begins. Cells that
are even or more did show: the least direct spike among them is an upper bound. It is given as a
power at the reference speed, as `marks_from` is, since there the spike is proportional to power.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.ordinal_model import GRADE_ORDER, heat_terms
from preprocess.calibrate.fit.outliers import find_outliers
from preprocess.calibrate.fit.profile import reference_patch
from preprocess.calibrate.heat.patch_heat import patch_heat
from preprocess.findings import Finding, note, warn
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.calibrate.fit.observations import Observation


def marking_bound(fit: FilamentFit) -> tuple[float, Observation] | None:
    """Upper bound of the marking limit at the reference speed (a share), and its cell.

    Outliers do not count. None where no cell is even or more.
    """
    _, patch = reference_patch(fit)
    terms = heat_terms(fit.posterior.mean()[None])[0]
    reference = float(patch_heat(patch, fit.bench)[1] @ terms)
    odd = {number for number, _ in find_outliers(fit)}
    shown = [
        (float(np.exp(one.spike @ terms - reference)), number)
        for number, one in enumerate(fit.observations.all)
        if one.grade > 0 and number not in odd
    ]
    if not shown:
        return None
    light, number = min(shown)
    power = fit.beam.power(light)
    return power, fit.observations.all[number]


def marking_limit_findings(fit: FilamentFit) -> Iterator[Finding]:
    """`marks_from` is unidentified, or the grades contradict its value."""
    found, written = marking_bound(fit), fit.known.marks_from
    if found is None:
        return
    power, one = found
    speed = reference_patch(fit)[0].speed
    where = f"cell {one.cell.name} of {one.coupon}"
    if written is None:
        yield note(
            "not-told",
            "grades do not tell marks_from, since weak stands for a faint mark and for none; "
            f"it lies below {digits(100 * power, 2)} % at {digits(speed)} mm/s, as {where} shows",
            "look which weak cells show nothing at all, and write marks_from into the profile",
        )
    elif written > power:
        yield warn(
            "shows-below-limit",
            f"marks_from is {digits(100 * written)} %, but {where} is {GRADE_ORDER[one.grade]} "
            f"with the direct heat of {digits(100 * power, 2)} % at {digits(speed)} mm/s",
            "lower marks_from in the profile, or look at the cell again",
        )
