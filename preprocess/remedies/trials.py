"""Trials of remedies on a job: each is simulated when a finding would tell it, and only then.

What is simulated is the artwork as it would be written, with one more step or another speed,
within the bound of a command that does something else.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from preprocess.errors import Refusal
from preprocess.marking.checks.extrapolation import fastest_graded, slowest_graded
from preprocess.marking.evenness.objective import evenness_objective
from preprocess.marking.evenness.sentence import objective_sentence
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.heat.index_images import lit_values
from preprocess.marking.heat.layer_power import settable_powers
from preprocess.marking.heat.place_remedies import TriedRemedy
from preprocess.marking.job.plan import plan_of, plan_with_powers
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.machine.beam import beam_of
from preprocess.model.artwork.output import output_layers
from preprocess.passes.interleave import Interleave
from preprocess.passes.solve_power.round_response import start_factors
from preprocess.remedies.balance import (
    colour_numbers,
    even_powers,
    lacking_light,
    middle_index,
    scaled_heat,
    swept_powers,
)
from preprocess.remedies.free_colours import free_colours
from preprocess.remedies.speeds import faster_speed, slower_speed, with_layer_speed, with_row_speed
from preprocess.units import SHARE, SPEED

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from preprocess.marking.evenness.objective import Objective
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.heat.layer_power import LayerPower
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench

_COLOURS = 4
"""Colours that `interleave` takes by itself."""

_SEEN = 0.01
"""By how much the worst of a layer's figures must fall for other rows to be told."""


def _is_seen(was: Objective, now: Objective) -> bool:
    """True if a layer is seen to be more even, and is no less even at the worst spread."""
    return now.likely.off < was.likely.off - _SEEN and now.worst.off <= was.worst.off


class _Trial(NamedTuple):
    """A job, simulated; `what` is the remedy in it."""

    plan: Plan
    schedule: Schedule
    heat: HeatIndex
    what: str = ""

    def outside(self, outputs: Collection[str]) -> float:
        """Share of the area of some output layers outside the window; ungraded, by the median."""
        index, weight = lit_values(self._images(outputs))
        index = index if self.heat.calibrated else index / self.heat.median
        out = (index < self.heat.window.weak) | (index > self.heat.window.heavy)
        return float(weight[out].sum() / (weight.sum() or 1.0))

    def of_layer(self, layer: str) -> set[str]:
        """Ids of the output layers of a layer."""
        return {step.output.id for step in self.plan.steps if step.output.layer == layer}

    def objective(self, layer: str) -> Objective | None:
        """How even a layer is by itself, and how long the whole job takes."""
        mine = replace(self.heat, images=self._images(self.of_layer(layer)))
        return evenness_objective(mine, time=self.schedule.total, layers=len(self.plan.powers))

    def _images(self, outputs: Collection[str]) -> tuple[IndexImage, ...]:
        return tuple(image for image in self.heat.images if image.output in outputs)


class JobTrials:
    """Remedies for the layers of one job; see `preprocess.marking.heat.place_remedies`."""

    def __init__(self, drawn: Artwork, artwork: Artwork, bench: Bench, found: Prediction) -> None:
        """Trials on artwork as it would be written; `drawn` is the drawing before passes."""
        self._drawn, self._artwork, self._bench = drawn, artwork, bench
        self._machine = bench.machine_or_default
        self._given = _Trial(found.plan, found.schedule, found.heat)
        self._outputs = {step.output.id: step.output for step in found.plan.steps}

    def rows(self, output: str) -> TriedRemedy | None:
        """Its rows in rounds; of rounds, their powers solved again; None if that cannot be.

        Where it is no more even then, as much lies outside as does now.
        """
        one = self._outputs[output]
        trial = self._solved_again if one.in_rounds else self._in_rounds
        if trial is None:
            return None
        was, now = self._given.objective(one.layer), trial.objective(one.layer)
        if was is None or now is None or not _is_seen(was, now):
            return TriedRemedy(trial.what, self._given.outside(self._given.of_layer(one.layer)))
        gain = objective_sentence(now, before=was)
        return TriedRemedy(trial.what, trial.outside(trial.of_layer(one.layer)), gain)

    def speed(self, output: str, power: LayerPower) -> TriedRemedy | None:
        """Another speed, at the power where the machine's range ends; None if there is none."""
        one, steps = self._outputs[output], settable_powers(self._machine.power)
        own, end = one.settings.speed, float(steps[-1 if power.highest else 0])
        lacking = power.light / beam_of(self._machine).ratio(end, power.own)
        speed = self._speed(own, lacking) if own else None
        if speed is None:
            return None
        trial = self._simulated(with_layer_speed(self._artwork, one, speed), {output: end})
        what = f"set {SHARE.text(end)} and {SPEED.text(speed)} for the whole layer and test it"
        return TriedRemedy(what, trial.outside({output}))

    def _speed(self, own: float, lacking: float) -> float | None:
        """A speed at which so many times the light fall on a row, as far as cells were graded."""
        steps, tried = self._machine.speed, self._bench.filament and self._bench.filament.tried
        graded = tried.speed if tried else None
        if lacking > 1:
            return slower_speed(own, lacking, steps, slowest_graded(graded) if graded else 0.0)
        return faster_speed(own, 1 / lacking, steps, fastest_graded(graded) if graded else math.inf)

    def _simulated(self, artwork: Artwork, powers: Mapping[str, float], what: str = "") -> _Trial:
        plan = plan_with_powers(plan_of(artwork, self._machine), powers)
        schedule = schedule_of(plan, self._machine)
        heat = heat_index_of_plan(plan, schedule, artwork, self._bench, effort=Effort.BOUNDED)
        return _Trial(plan, schedule, heat, what)

    @cached_property
    def _solved_again(self) -> _Trial | None:
        given, heat = self._given, self._given.heat
        rounds = {name: output for name, output in self._outputs.items() if output.in_rounds}
        own = {n: power for n, power in swept_powers(given.plan, heat).items() if n in rounds}
        number = {name: place for place, name in enumerate(own)}
        powers = even_powers(heat, own, number, self._machine)
        if powers == own:
            return None
        return self._simulated(
            self._artwork, powers, "solve the powers of its rounds again with solve-power"
        )

    @cached_property
    def _in_rounds(self) -> _Trial | None:
        """With `interleave` as the last step, at usual powers, and slower where those lack."""
        made, colours = self._interleaved()
        if made is None:
            return None
        powers = self._usual_powers(made)
        step = f"interleave: {{colours: {colours}}}" if colours < _COLOURS else "interleave"
        add = f"take tag-power out and add {step}" if self._zoned else f"add {step}"
        what = f"{add} and then solve-power to the passes, so that rows are marked in rounds"
        trial = self._simulated(made, powers, what)
        if not trial.heat.calibrated:
            return trial
        short = lacking_light(trial.heat, swept_powers(trial.plan, trial.heat), self._machine)
        own = next(step.settings.speed for step in trial.plan.steps if step.output.id in powers)
        speed = self._speed(own, short) if short and own else None
        if speed is not None:
            slow = f"{what}, and mark it at {SPEED.text(speed)}"
            trial = self._simulated(with_row_speed(made, speed), powers, slow)
        return self._at_level(trial, powers)

    @cached_property
    def _zoned(self) -> set[str]:
        """Layers that were cut into zones of power, and not by shades of the drawing."""
        shaded = {shape.layer for shape in self._drawn.shapes if shape.level is not None}
        return {
            shape.layer
            for shape in self._artwork.shapes
            if shape.level is not None and shape.round is None
        } - shaded

    def _whole(self) -> Artwork:
        """The artwork without its zones."""
        shapes = (
            replace(shape, level=None) if shape.layer in self._zoned else shape
            for shape in self._artwork.shapes
        )
        layers = (
            replace(layer, shares=(), plain_share=None, order=())
            if layer.name in self._zoned
            else layer
            for layer in self._artwork.layers
        )
        return replace(self._artwork, shapes=tuple(shapes), layers=tuple(layers))

    def _interleaved(self) -> tuple[Artwork | None, int]:
        whole = self._whole()
        outputs = output_layers(whole)
        areas = {shape.layer for shape in whole.shapes if shape.is_engraved_area}
        free = free_colours(outputs, areas, self._machine, self._machine.max_layers)
        colours = min(_COLOURS, free)
        if not areas or colours < 1:
            return None, 0
        step = Interleave(colours=None if colours == _COLOURS else colours)
        try:
            return step(whole, self._bench).artwork, colours
        except Refusal:
            return None, 0

    def _usual_powers(self, made: Artwork) -> dict[str, float]:
        """Powers of the colours of rounds to begin with, none beyond what the machine gives."""
        outputs = [output for output in output_layers(made) if output.in_rounds]
        number = colour_numbers(outputs, {output.id for output in outputs})
        count = Counter(output.layer for output in outputs)
        beam = beam_of(self._machine)
        wanted = {
            o.id: beam.scaled(o.settings.power or 1.0, start_factors(count[o.layer])[number[o.id]])
            for o in outputs
        }
        over = max([1.0, *(beam.ratio(power, self._machine.power.to) for power in wanted.values())])
        return {name: beam.scaled(power, 1 / over) for name, power in wanted.items()}

    def _at_level(self, trial: _Trial, powers: Mapping[str, float]) -> _Trial:
        """With all powers changed alike, to bring the median to the patch: the index follows."""
        beam, most = beam_of(self._machine), max(powers.values())
        wanted = beam.scaled(most, 1 / middle_index(trial.heat))
        ratio = beam.ratio(self._machine.power.nearest(wanted), most)
        return trial._replace(heat=scaled_heat(trial.heat, ratio))
