"""Gaps between a design and the graded cells, and the smallest coupon that closes each."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.dimensions import LEAF_SIZE
from preprocess.coupon.design.model import CouponKind
from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.offset.feature_size import finest_width
from preprocess.marking.checks.extrapolation import beyond_graded
from preprocess.marking.job.plan import RasterGroup
from preprocess.marking.job.schedule import settings_of_rows
from preprocess.model.bench.filament import Tried
from preprocess.units import LENGTH, SPEED

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.bench.filament import Filament
    from preprocess.units import Quantity

_NEAR = 1.5
"""Factor beyond graded spans and widths up to which they are taken to be alike."""

_FEW = 0.05
"""Share of the lit length in shorter, or longer, rows that does not count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignUse:
    """Use of one thing by a design, and what was graded of it, in words.

    `kind` is the coupon that closes the gap, with its `asked`; None where there is no gap.
    """

    what: str
    used: str
    graded: str
    kind: CouponKind | None = None
    asked: CouponOverrides = CouponOverrides()


def design_uses(
    plan: Plan, schedule: Schedule, filament: Filament | None, *, widths: bool = True
) -> tuple[DesignUse, ...]:
    """Speeds, pitches, row spans, widths, own rows and repeats of a job beside the graded ones.

    `widths` may be left out where they are those of strips of a row each.
    """
    tried = _tried(filament)
    kinds = {_kind_of(trial) for trial in (filament.trials if filament else ())}
    if filament is not None and filament.own_rows is not None:
        kinds.add(str(CouponKind.OWN_ROWS))
    return tuple(_uses(plan, schedule, tried, kinds, widths=widths))


def _tried(filament: Filament | None) -> Tried:
    """What was graded; of a profile written by hand at least its reference patch."""
    tried = (filament.tried if filament else None) or Tried()
    patch = filament.reference if filament else None
    if patch is None:
        return tried
    return replace(
        tried,
        speed=tried.speed or (patch.speed, patch.speed),
        pitch=tried.pitch or (patch.pitch, patch.pitch),
        span=tried.span or (patch.size[0], patch.size[0]),
    )


def _uses(
    plan: Plan, schedule: Schedule, tried: Tried, kinds: set[str], *, widths: bool
) -> Iterator[DesignUse]:
    rows = list(settings_of_rows(plan, schedule).values())
    speeds = [one.speed for one in rows if one.speed is not None]
    pitches = [one.pitch for one in rows if one.pitch is not None]
    first = CouponOverrides(speeds=tuple(dict.fromkeys(speeds)))
    yield _setting("speed", SPEED, speeds, tried.speed, (CouponKind.POWER_SPEED, first))
    both = CouponOverrides(pitches=tuple(dict.fromkeys([*pitches, *(tried.pitch or ())])))
    yield _setting("pitch", LENGTH, pitches, tried.pitch, (CouponKind.PITCH, both))
    ends = _spans(schedule)
    if ends is not None:
        yield _lengths("row span", ends, tried.span, CouponKind.ROW_SPAN)
    width = _finest(plan) if widths else None
    if width is not None:
        use = _lengths("finest width", (width, width), tried.feature, CouponKind.TIP_WIDTH)
        tipless = width >= LEAF_SIZE[0]  # no coupon has so wide a tip, and none is needed
        yield replace(use, kind=None, asked=CouponOverrides()) if tipless else use
    own = any(visit.timed.rounds for visit in schedule.visits)
    yield _graded_kind("own rows", "yes" if own else "", kinds, CouponKind.OWN_ROWS, ends)
    most = max((step.repeats for step in plan.steps), default=1)
    repeats = str(most) if most > 1 else ""
    yield _graded_kind("repeats", repeats, kinds, CouponKind.REPEATS, ends)


def _setting(
    what: str,
    unit: Quantity,
    used: Sequence[float],
    graded: tuple[float, float] | None,
    coupon: tuple[CouponKind, CouponOverrides],
) -> DesignUse:
    beyond = any(graded is None or beyond_graded(value, graded) for value in used)
    kind, asked = coupon if beyond else (None, CouponOverrides())
    return DesignUse(
        what=what, used=_ends(used, unit), graded=_ends(graded or (), unit), kind=kind, asked=asked
    )


def _lengths(
    what: str, used: tuple[float, float], graded: tuple[float, float] | None, kind: CouponKind
) -> DesignUse:
    low, high = graded or (np.inf, 0.0)
    missing = [round(used[1], 1)] if used[1] > _NEAR * high and what == "row span" else []
    missing += [round(used[0], 2)] if used[0] < low / _NEAR else []
    anchor = [high] if graded is not None and kind is CouponKind.ROW_SPAN else []
    asked = CouponOverrides(lengths=tuple(dict.fromkeys([*missing, *anchor])))
    return DesignUse(
        what=what,
        used=_ends(used, LENGTH),
        graded=_ends(graded or (), LENGTH),
        kind=kind if missing else None,
        asked=asked if missing else CouponOverrides(),
    )


def _graded_kind(
    what: str, used: str, kinds: set[str], kind: CouponKind, spans: tuple[float, float] | None
) -> DesignUse:
    known = kind in kinds
    lengths = tuple(dict.fromkeys(round(span, 1) for span in reversed(spans or ())))
    gap = bool(used) and not known
    return DesignUse(
        what=what,
        used=used or "no",
        graded="yes" if known else "no",
        kind=kind if gap else None,
        asked=CouponOverrides(lengths=lengths) if gap else CouponOverrides(),
    )


def _ends(values: Sequence[float], unit: Quantity) -> str:
    if not values:
        return "nothing"
    low, high = (unit.text(float(f"{end:.3g}")) for end in (min(values), max(values)))
    return low if low == high else f"{low} to {high}"


def _spans(schedule: Schedule) -> tuple[float, float] | None:
    """Row spans between which nearly all of the lit length lies, mm."""
    spans = [visit.timed.spans for visit in schedule.visits if len(visit.timed.spans)]
    if not spans:
        return None
    span = np.concatenate([one.span for one in spans])
    lit = np.concatenate([one.lit for one in spans])
    return _share(span, lit, _FEW), _share(span, lit, 1 - _FEW)


def _share(span: Floats, lit: Floats, share: float) -> float:
    order = np.argsort(span, kind="stable")
    upto = np.cumsum(lit[order]) / lit.sum()
    return float(span[order][np.searchsorted(upto, share)])


def _finest(plan: Plan) -> float | None:
    areas = [step.area for step in plan.steps if isinstance(step, RasterGroup)]
    area = as_area(areas)
    return None if area.is_empty else finest_width(area)


def _kind_of(trial: Any) -> str:
    definition = trial.get("definition", {}) if isinstance(trial, dict) else {}
    return str(definition.get("kind", "")) if isinstance(definition, dict) else ""
