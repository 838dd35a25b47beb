"""Fits of simulated users that several tests share."""

from functools import lru_cache

import numpy as np

from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.profile import fitted_profile
from preprocess.calibrate.grades.trials import CouponTrial
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from tests.simulated_users import (
    BELIEVED,
    first_coupon,
    judged,
    user,
)


@lru_cache(maxsize=4)
def first_trial(seed):
    return judged(first_coupon(), user(seed), np.random.default_rng([seed, 1]))


@lru_cache(maxsize=4)
def fitted(seed):
    return fit_filament([first_trial(seed)], BELIEVED)


@lru_cache(maxsize=4)
def profile(seed):
    return fitted_profile(fitted(seed))


def graded(*grades):
    """The first coupon with these grades from its first cell on; the others blank."""
    definition = first_coupon()
    names = [cell.name for cell in build(definition).cells]
    held = {name: (Grade(grade),) for name, grade in zip(names, grades, strict=False) if grade}
    return CouponTrial(coupon="power-speed-0", grades=held, definition=definition)
