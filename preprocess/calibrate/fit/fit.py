"""The fit: a Bayesian ordinal regression of grades on the heat of their cells."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.observations import Observations, collect_observations
from preprocess.calibrate.fit.ordinal_model import (
    CURVATURE,
    MIDDLE,
    SPEED,
    SPIKE_SHARE,
    ToldByTones,
    heat_terms,
    scaled_effect,
    thresholds,
)
from preprocess.calibrate.fit.posterior import Posterior, sample_posterior
from preprocess.calibrate.fit.refusals import refuse_contradictory, refuse_uninformative
from preprocess.calibrate.grades.extra_settings import graded_with
from preprocess.calibrate.heat.patch_heat import HeatPatch, patch_heat
from preprocess.calibrate.tones.tone_fit import FEWEST, fit_tones
from preprocess.calibrate.tones.toned_places import toned_places
from preprocess.errors import wrong
from preprocess.marking.machine.beam import Beam, beam_of
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import PaletteOrder

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.ordinal_model import OrdinalRegression
    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.calibrate.tones.tone_fit import ToneFit
    from preprocess.model.bench.machine import Machine


_PHYSICAL = (
    *("machine", "polymer", "mark", "conductivity", "density", "heat_capacity"),
    *("absorbed", "marks_from", "bleed"),
)
"""Fields of a filament that grades of heat do not identify."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilamentFit:
    """A fitted filament. `known` is it without fitted figures, `tones` what photos told."""

    trials: tuple[CouponTrial, ...]
    machine: Machine | None
    known: Filament
    observations: Observations
    model: OrdinalRegression
    posterior: Posterior
    tones: ToneFit | None = None

    @property
    def bench(self) -> Bench:
        """Machine and filament of the cells."""
        return Bench(machine=self.machine, filament=self.known)

    @property
    def beam(self) -> Beam:
        """The light of the machine's beam."""
        return beam_of(self.bench.machine_or_default)

    def heat(self, patch: HeatPatch, values: Floats | None = None) -> Floats:
        """Logarithm of the index of a patch at 100 % power, by sample of the parameters."""
        values = self.posterior.values if values is None else values
        speed = np.log(patch.speed / self.observations.middle)
        bend = speed**2 - float(np.mean(self.model.speed**2))
        index, spike = patch_heat(patch, self.bench) @ heat_terms(values).T
        over = scaled_effect(values, SPIKE_SHARE) * (spike - index - self.model.above)
        turned = values[:, SPEED] * speed + scaled_effect(values, CURVATURE) * bend
        return np.asarray(index + over + turned)

    def band(self, patch: HeatPatch, values: Floats | None = None) -> Floats:
        """Log powers at which a patch turns even, is mid-band, turns heavy, molten; samples × 4."""
        values = self.posterior.values if values is None else values
        weak, heavy, molten = thresholds(values).T
        ends = np.stack([weak, values[:, MIDDLE], heavy, molten], axis=1)
        return np.asarray(ends - self.heat(patch, values)[:, None])


def fit_filament(trials: Sequence[CouponTrial], filament: Filament | None = None) -> FilamentFit:
    """Fit a filament to the grades of all its coupons.

    Raises:
        UserError: the coupons are of several machines, or the grades identify nothing; the remedy
            says what to mark.
    """
    extra = graded_with(trials)
    known = replace(_known(trials, filament), extra_settings=extra or None)
    observations = collect_observations(trials, known)
    refuse_uninformative(observations)
    toned = toned_places(trials, known)
    tones = fit_tones(toned) if toned is not None and len(toned) >= FEWEST else None
    model = observations.regression(_told(tones))
    posterior = sample_posterior(model)
    refuse_contradictory(observations, model, posterior)
    return FilamentFit(
        trials=tuple(trials),
        machine=_machine(trials),
        known=known,
        observations=observations,
        model=model,
        posterior=posterior,
        tones=tones,
    )


def _told(tones: ToneFit | None) -> ToldByTones | None:
    """What tones tell before any grade; None where they follow no curve of the heat."""
    if tones is None or tones.used is None:
        return None
    return ToldByTones(tones.mean, np.asarray(np.linalg.inv(tones.covariance)))


def _machine(trials: Sequence[CouponTrial]) -> Machine | None:
    """The machine of all coupons."""
    first = _bare(trials[0].definition.machine)
    for trial in trials:
        if _bare(trial.definition.machine) != first:
            raise wrong(
                f"{trials[0].coupon} and {trial.coupon} were made for different machines",
                "fit each machine by itself: a profile holds for one",
            )
    return first


def _bare(machine: Machine | None) -> Machine | None:
    """A machine without what only its software's colours are about."""
    if machine is None:
        return None
    return replace(machine, palette=None, palette_order=PaletteOrder.AS_DRAWN, anchors=False)


def _known(trials: Sequence[CouponTrial], filament: Filament | None) -> Filament:
    """The filament without grades: from the profile, else from the first coupon that has one."""
    of_coupons = filter(None, (trial.definition.filament for trial in trials))
    held = filament or next(of_coupons, Filament(name="unknown filament"))
    kept = {name: getattr(held, name) for name in _PHYSICAL}
    return replace(Filament(name=held.name), **kept)
