"""Grades to parameters: what the filament does, how sure that is, and what cannot be said."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.observations import Sightings, sightings_of
from preprocess.calibrate.fit.ordinal_model import (
    BEND,
    MIDDLE,
    SPEED,
    SPIKE,
    figure,
    terms_of,
    thresholds,
)
from preprocess.calibrate.fit.posterior import Posterior, posterior_of
from preprocess.calibrate.fit.refusals import refuse_dumb, refuse_torn
from preprocess.calibrate.heat.patch_heat import Patch, patch_heat
from preprocess.errors import wrong
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.ordinal_model import Seen
    from preprocess.calibrate.grades.trials import Trial
    from preprocess.model.bench.machine import Machine


_PHYSICAL = (
    "machine",
    "polymer",
    "mark",
    "conductivity",
    "density",
    "heat_capacity",
    "absorbed",
    "marks_from",
    "bleed",
)
"""What grades of heat do not tell of a filament."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """What grades tell. `known` is the filament without any fitted figure."""

    trials: tuple[Trial, ...]
    machine: Machine | None
    known: Filament
    sightings: Sightings
    seen: Seen
    posterior: Posterior

    @property
    def bench(self) -> Bench:
        """What the cells were marked on and of."""
        return Bench(machine=self.machine, filament=self.known)

    def heat(self, patch: Patch, values: Floats | None = None) -> Floats:
        """Logarithm of the index of a patch at 100 % power, by sample of the parameters."""
        values = self.posterior.values if values is None else values
        speed = np.log(patch.speed / self.sightings.middle)
        bend = speed**2 - float(np.mean(self.seen.speed**2))
        index, spike = patch_heat(patch, self.bench) @ terms_of(values).T
        over = figure(values, SPIKE) * (spike - index - self.seen.above)
        turned = values[:, SPEED] * speed + figure(values, BEND) * bend
        return np.asarray(index + over + turned)

    def band(self, patch: Patch, values: Floats | None = None) -> Floats:
        """Logarithms of the powers at which a patch enters, halves and leaves the even band.

        Samples × 4: not weak any more, in the middle of even, heavy, molten.
        """
        values = self.posterior.values if values is None else values
        weak, heavy, molten = thresholds(values).T
        ends = np.stack([weak, values[:, MIDDLE], heavy, molten], axis=1)
        return np.asarray(ends - self.heat(patch, values)[:, None])


def fit(trials: Sequence[Trial], filament: Filament | None = None) -> Fit:
    """Fit a filament to the grades of all its coupons.

    Raises:
        UserError: the coupons are of several machines, or the grades tell nothing; the sentence
            says what to mark.
    """
    known = _known(trials, filament)
    sightings = sightings_of(trials, known)
    refuse_dumb(sightings)
    seen = sightings.seen()
    posterior = posterior_of(seen)
    refuse_torn(sightings, seen, posterior)
    return Fit(
        trials=tuple(trials),
        machine=_machine(trials),
        known=known,
        sightings=sightings,
        seen=seen,
        posterior=posterior,
    )


def _machine(trials: Sequence[Trial]) -> Machine | None:
    """The machine of all coupons."""
    first = trials[0].definition.machine
    for trial in trials:
        if trial.definition.machine != first:
            raise wrong(
                f"{trials[0].coupon} and {trial.coupon} were made for different machines",
                "fit each machine by itself: a profile holds for one",
            )
    return first


def _known(trials: Sequence[Trial], filament: Filament | None) -> Filament:
    """What was known without grades: of the profile, else of the coupon that knew it."""
    held = filament or next(
        (t.definition.filament for t in trials if t.definition.filament is not None), None
    )
    held = held or Filament(name="unknown filament")
    plain = Filament(name=held.name)
    return replace(plain, **{name: getattr(held, name) for name in _PHYSICAL})
