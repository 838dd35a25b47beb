"""Artwork, filaments and an independent index for the tests of solved powers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon, box

from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference, Window
from preprocess.model.bench.machine import Machine, PowerSteps
from preprocess.passes.interleave.interleave import Interleave
from preprocess.passes.tag_power.tag_power import TagPower
from tests.marking import brute
from tests.passes.benches import artwork, shape

FINE = PowerSteps(from_=1e-4, to=1.0, step=1e-4)
GALVO = Machine(name="bench galvo", turnaround=1.2e-3, fly_back=2500.0, spot=0.08, layer_pause=0.1)
STEPLESS = replace(GALVO, power=FINE)
GRADED = Filament(
    name="moss green",
    reference=Reference(size=(8.0, 8.0), power=0.5, speed=300.0, pitch=0.1),
    window=Window(),
)
UNKNOWN = Bench(machine=STEPLESS)
KNOWN = Bench(machine=STEPLESS, filament=GRADED)
TRIANGLE = Polygon([(6, 4), (24, 4), (15, 26)])
STUMP = shapely.union_all([box(10, 6, 20, 9), box(14.8, 9, 15.2, 12)])


def art(*shapes, power=0.3, speed=300.0, pitch=0.1, direction=Direction.ONE_WAY, parts=()):
    """Shapes of which each layer has the same settings."""
    made = artwork(shapes, parts)
    settings = replace(
        made.layers[0].settings[Operation.ENGRAVE],
        power=power,
        speed=speed,
        pitch=pitch,
        direction=direction,
    )
    alike = {Operation.ENGRAVE: settings}
    return replace(made, layers=tuple(replace(layer, settings=alike) for layer in made.layers))


def interleaved(drawn, bench, pitch=0.1, **given):
    """Two-way rounds; own rows are scored as areas are engraved."""
    made = art(drawn, direction=Direction.TWO_WAY, pitch=pitch)
    scoring = {Operation.SCORE: made.layers[0].settings[Operation.ENGRAVE]}
    layers = (replace(x, settings={**x.settings, **scoring}) for x in made.layers)
    return Interleave(inset=0.0, **given)(replace(made, layers=tuple(layers)), bench).artwork


def triangle(levels=3, bench=KNOWN, area=TRIANGLE, **settings):
    return TagPower(levels=levels)(art(shape("leaf", area), **settings), bench).artwork


def powers(made):
    return {o.id: o.settings.power for o in output_layers(made)}


def codes(outcome):
    return [finding.code for finding in outcome.findings]


ONE = Selection(select="#one")


def named(name, geometry, layer="fronds"):
    """A shape that can be chosen by its id."""
    made = shape(name, geometry, layer)
    source = replace(made.sources[0], selectors=frozenset({f"#{name}"}))
    return replace(made, sources=(source,))


def strikes_of(made, bench):
    """Plan of a job, the strikes of all its steps, and the plastic that they fall on."""
    machine = bench.machine_or_default
    planned = plan_of(made, machine)
    plastic = thermal_medium_of(bench.filament, machine)
    struck = exposures_of(planned, schedule_of(planned, machine), plastic.watts, None)
    return planned, struck, plastic


def by_runs(made, bench, name, count=5):
    """Median index of a layer at a grid of points, by superposition over every run of every row."""
    planned = plan_of(made, bench.machine_or_default)
    (group,) = (g for g in planned.steps if g.output.id == name)
    left, top, right, bottom = group.area.bounds
    shares = (np.arange(count) + 0.5) / count
    points = [(left + (right - left) * a, top + (bottom - top) * b) for a in shares for b in shares]
    return peak_at(points, made, bench, name)


def peak_at(points, made, bench, name):
    """Median of the peaks at points of a layer, by the same superposition."""
    planned, struck, plastic = strikes_of(made, bench)
    (mine,) = (s for s in struck if planned.steps[s.step].output.id == name)
    return np.median([brute.peak(struck, mine, plastic, point) for point in points])


def spike_under_the_beam(made, bench, name, apart):
    """Median over the lit length of the rise under the beam, K, by the same superposition."""
    planned, struck, plastic = strikes_of(made, bench)
    (mine,) = (s for s in struck if planned.steps[s.step].output.id == name)
    found = []
    for row, start, end, entered in zip(mine.row, mine.start, mine.end, mine.entered, strict=True):
        count = max(1, round((end - start) / apart))
        for way in (np.arange(count) + 0.5) * (end - start) / count:
            u = start + way if mine.forward[row] else end - way
            when = entered + (way + plastic.sigma * np.linspace(1.0, 3.0, 5)) / mine.speed
            place = u, mine.y[row]
            rise = brute.rise(struck, plastic, place, when, angle=mine.angle, smooth=False)
            found.append((rise.max(), (end - start) / count))
    rise, length = np.array(sorted(found)).T
    middle = np.cumsum(length) - length / 2
    return float(np.interp(length.sum() / 2, middle, rise))


def wide_and_narrow():
    return art(
        shape("bed", box(4, 10, 20, 16), "bed"), shape("stem", box(50, 10, 51.5, 16), "stem")
    )
