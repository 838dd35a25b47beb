"""The heat index of artwork as it would be marked: where heat accumulates, and by how much.

The index of a point is the peak over time of its temperature rise, smoothed across the rows. It is
divided by that of the filament's reference patch, computed under its own settings on the same
machine. Only this quantity ranks narrow and wide rows rightly. The spike (does it mark at all) does
not depend on row width, and the residual on arrival, a diagnostic, is often smaller where the mark
gets heavier. Heat is conducted linearly; char, foam and melting are not modelled. Each part is a
body of its own; light that falls beside it takes time and heats nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.effort import Effort, Grain, chosen_steps, column_step, grain_of
from preprocess.marking.heat.index_images import IndexImage, lit_values, weighted_quantile
from preprocess.marking.heat.reference_patch import own_rows_peaks, reference_peaks
from preprocess.marking.job.plan import LineWork, plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of, lit_length
from preprocess.marking.solver.field.heat_solver import ExposureImages, solve_heat
from preprocess.marking.solver.hearing import overheard
from preprocess.marking.solver.thermal_medium import UNCALIBRATED, ThermalMedium, thermal_medium_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Floats32
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.filament import Window

    _Peaks = tuple[tuple[float, ...], float]

UNGRADED = 2.0
"""Factor by which optical depth and spread may be off where they are defaults."""

GRADED = 1.25
"""The same for a filament that was graded but whose profile holds no intervals."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatIndex:
    """The index over all images, weighted by area.

    `cv` is standard deviation over mean; `too_weak` and `too_heavy` are shares of the lit area
    outside the filament's window. `span` says between which values the largest index lies when the
    optical depth and the spread are as uncertain as they are; None when not asked for. `assumed`
    says what was taken from defaults; `unknown` names layers that could not be computed.
    `wide_columns` is how wide columns were made (mm) where the job is too large for fine ones, and
    one of `every` groups of a layer was solved then. `spreads` are those of the images' `indices`,
    the likely one first (mm).
    """

    images: tuple[IndexImage, ...]
    window: Window
    calibrated: bool
    assumed: tuple[str, ...]
    unknown: tuple[str, ...] = ()
    span: tuple[float, float] | None = None
    wide_columns: float | None = None
    every: int = 1
    spreads: tuple[float, ...] = ()
    largest: float = field(init=False)
    median: float = field(init=False)
    p95: float = field(init=False)
    cv: float = field(init=False)
    too_weak: float = field(init=False)
    too_heavy: float = field(init=False)

    def __post_init__(self) -> None:
        index, weight = lit_values(self.images)
        total = float(weight.sum()) or 1.0
        mean = float(index @ weight) / total
        spread = float(np.sqrt(((index - mean) ** 2) @ weight / total))
        for name, value in (
            ("largest", float(index.max()) if len(index) else 0.0),
            ("median", weighted_quantile(index, weight, 0.5)),
            ("p95", weighted_quantile(index, weight, 0.95)),
            ("cv", spread / mean if mean else 0.0),
            ("too_weak", float(weight[index < self.window.weak].sum()) / total),
            ("too_heavy", float(weight[index > self.window.heavy].sum()) / total),
        ):
            object.__setattr__(self, name, value)

    @property
    def trust(self) -> str:
        """Remark for every number: empty once the filament is graded."""
        return "" if self.calibrated else UNCALIBRATED


def heat_index(
    artwork: Artwork, bench: Bench, *, effort: Effort = Effort.FULL, uncertainty: bool = False
) -> HeatIndex:
    """Predict the heat index of artwork as it stands.

    Args:
        artwork: as it would be written, bars and levels included.
        bench: machine, filament, parts; defaults stand in for what is missing, and are named.
        effort: in full, bounded, or for a quick look.
        uncertainty: compute the `span` as well, by coarse runs at the ends of the parameters.
    """
    plan = plan_of(artwork, bench.machine_or_default)
    schedule = schedule_of(plan, bench.machine_or_default)
    heat = heat_index_of_plan(plan, schedule, artwork, bench, effort=effort)
    return with_span(heat, plan, schedule, artwork, bench) if uncertainty else heat


def heat_index_of_plan(
    plan: Plan,
    schedule: Schedule,
    artwork: Artwork,
    bench: Bench,
    *,
    effort: Effort = Effort.FULL,
    tell: Callable[[float], None] = overheard,
) -> HeatIndex:
    """As `heat_index`, from a plan and a schedule that are known already, without the `span`.

    `tell` is called with the share of the work that has been done since, else a hearer is.
    """
    medium = thermal_medium_of(bench.filament, bench.machine_or_default)
    medium = replace(medium, other_spreads=spread_interval(medium))
    images, grains = _index_images(plan, schedule, artwork, bench, (medium, effort), tell)
    wanted = column_step(medium)
    return HeatIndex(
        spreads=medium.spreads,
        images=images,
        window=medium.window,
        calibrated=medium.calibrated,
        assumed=(*medium.assumed, *schedule.assumed, *_without_power(plan)),
        unknown=tuple(dict.fromkeys((*plan.unplanned, *schedule.untimed))),
        wide_columns=None if effort is Effort.PREVIEW else _wide_columns(images, wanted),
        every=max((grain.every for grain in grains), default=1),
    )


def with_span(
    heat: HeatIndex, plan: Plan, schedule: Schedule, artwork: Artwork, bench: Bench
) -> HeatIndex:
    """The same with the `span` of its largest index, by previews at the ends of the parameters."""
    medium = thermal_medium_of(bench.filament, bench.machine_or_default)
    if not heat.images:
        return heat

    def coarsely(other: ThermalMedium) -> float:
        how = other, Effort.PREVIEW
        return _largest(_index_images(plan, schedule, artwork, bench, how)[0])

    likely = coarsely(medium)
    ratios = [1.0, *(coarsely(other) / likely for other in _others(medium))]
    return replace(heat, span=(heat.largest * min(ratios), heat.largest * max(ratios)))


def _wide_columns(images: Sequence[IndexImage], step: float) -> float | None:
    widths = [float(image.u[1] - image.u[0]) for image in images if len(image.u) > 1]
    widest = max(widths, default=step)
    return widest if widest > 1.001 * step else None


def _without_power(plan: Plan) -> tuple[str, ...]:
    """Layers without a power, which are computed at full power."""
    missing = (s.output.id for s in plan.steps if s.settings.power is None)
    return tuple(f"power of {output}: 100 %" for output in dict.fromkeys(missing))


def _largest(images: Sequence[IndexImage]) -> float:
    return max(float(image.index[image.lit].max()) for image in images)


def spread_interval(medium: ThermalMedium) -> tuple[float, float]:
    """Between which spreads (mm) the right one lies: what grades leave open, or else likely."""
    factor = GRADED if medium.calibrated else UNGRADED
    return medium.sure.spread or (medium.spread / factor, medium.spread * factor)


def _others(medium: ThermalMedium) -> list[ThermalMedium]:
    """The plastic with its figures at the ends of what grades leave open, or else of likely."""
    factor = GRADED if medium.calibrated else UNGRADED
    sure, depth = medium.sure, medium.solid.depth
    depths = sure.optical_depth or (depth / factor, depth * factor)
    return [
        *(replace(medium, spread=end) for end in spread_interval(medium)),
        *(replace(medium, solid=replace(medium.solid, depth=end)) for end in depths),
        *(replace(medium, speed_correction=end) for end in sure.speed_correction or ()),
    ]


def _index_images(
    plan: Plan,
    schedule: Schedule,
    artwork: Artwork,
    bench: Bench,
    how: tuple[ThermalMedium, Effort],
    tell: Callable[[float], None] = overheard,
) -> tuple[tuple[IndexImage, ...], list[Grain]]:
    """Images of engraved areas and of own rows, and how finely those of each part were computed."""
    medium, effort = how
    step = column_step(medium)
    machine = bench.machine_or_default
    reference = reference_peaks(medium, machine, step)
    of_lines = own_rows_peaks(medium, machine, step) if _has_lines(plan) else reference
    bodies: list[MultiPolygon | None] = list(artwork.parts) or [None]
    struck = [exposures_of(plan, schedule, medium.watts, body) for body in bodies]
    grains = grain_of(struck, step, effort)
    stand_for = chosen_steps(plan, max(grain.every for grain in grains))
    total = sum(lit_length(e) for body in struck for e in body if e.step in stand_for) or 1.0
    found: list[IndexImage] = []
    for part, (body, exposures, grain) in enumerate(zip(bodies, struck, grains, strict=True)):
        solid = replace(medium.solid, thickness=part_thickness(bench, part, len(bodies)))
        here = replace(medium, solid=solid)
        fields = solve_heat(
            exposures,
            here,
            grain.step,
            lambda one: one.step in stand_for,
            lambda done: tell(done / total),
        )
        which = None if body is None else part
        for same in _by_step(fields):
            image = _index_image(same, plan, which, medium, (reference, of_lines))
            found.append(replace(image, stands_for=stand_for[image.step]))
    return tuple(found), grains


def _has_lines(plan: Plan) -> bool:
    """Test whether a plan holds lines, which may be rows of their own."""
    return any(isinstance(step, LineWork) for step in plan.steps)


def part_thickness(bench: Bench, part: int, parts: int) -> float | None:
    """The part's thickness; of copies that of their part; else the one that all share, if any."""
    if bench.parts and parts % len(bench.parts) == 0:
        return bench.parts[part % len(bench.parts)].thickness
    shared = {known.thickness for known in bench.parts}
    return shared.pop() if len(shared) == 1 else None


def _by_step(fields: Sequence[ExposureImages]) -> list[list[ExposureImages]]:
    found: dict[tuple[int, int], list[ExposureImages]] = {}
    for one in fields:
        found.setdefault((one.exposure.step, one.exposure.round), []).append(one)
    return [found[step] for step in sorted(found)]


def _index_image(
    same: list[ExposureImages],
    plan: Plan,
    part: int | None,
    medium: ThermalMedium,
    references: tuple[_Peaks, _Peaks],
) -> IndexImage:
    """One image of all repeats; `references` are the peaks of a swept patch and of own rows."""
    one = same[0]
    drawn = isinstance(plan.steps[one.exposure.step], LineWork)
    peaks, spike = references[1] if drawn else references[0]
    patch = (medium.own_rows if drawn else None) or medium.reference
    speed = (one.exposure.speed / patch.speed) ** medium.speed_correction

    def largest(images: Sequence[Floats32], over: float) -> Floats:
        highest = np.max(np.stack(images), axis=0).astype(np.float64)
        return np.where(one.lit, highest / over, np.nan)

    indices = np.stack(
        [largest([f.peaks[n] for f in same], peak / speed) for n, peak in enumerate(peaks)]
    )
    return IndexImage(
        step=one.exposure.step,
        output=plan.steps[one.exposure.step].output.id,
        part=part,
        angle=one.exposure.angle,
        v=one.exposure.y,
        u=one.columns.centres,
        lit=one.lit,
        index=indices[0],
        spike=largest([f.spike for f in same], spike),
        residual=largest([f.residual for f in same], spike),
        cell=one.exposure.pitch * one.exposure.share * one.columns.step,
        share=one.share,
        aside=one.aside,
        round=one.exposure.round,
        at_spreads=indices if len(indices) > 1 else None,
    )
