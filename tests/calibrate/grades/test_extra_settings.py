"""A profile holds for one set of extra settings; others are refused with the difference."""

from __future__ import annotations

from dataclasses import replace

import pytest

from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.profile import fitted_profile, profile_bytes
from preprocess.calibrate.grades.trials import read_profile
from preprocess.errors import UserError
from tests.calibrate.fits import first_trial
from tests.simulated_users import BELIEVED

LOW = (("frequency", "30 kHz"), ("lens", "110 mm"))
HIGH = (("frequency", "60 kHz"), ("lens", "110 mm"))


def marked_with(extra, name="power-speed-1"):
    trial = first_trial(5)
    layers = tuple(replace(one, extra=extra) for one in trial.definition.settings)
    return replace(trial, coupon=name, definition=replace(trial.definition, settings=layers))


def refusal(*trials) -> str:
    with pytest.raises(UserError) as caught:
        fit_filament(trials, BELIEVED)
    (one,) = caught.value.complaints
    return f"{one.found}; {one.remedy}"


def test_mixed_grades_are_refused_and_only_the_difference_is_named() -> None:
    told = refusal(marked_with(LOW), marked_with(HIGH, "row-span-2"))
    assert "frequency is 30 kHz for power-speed-1 and 60 kHz for row-span-2" in told
    assert "lens" not in told
    assert "a profile of its own" in told


def test_one_that_is_told_once_only_is_refused_too() -> None:
    told = refusal(marked_with(LOW), marked_with((), "row-span-2"))
    assert "frequency is 30 kHz for power-speed-1 and not told for row-span-2" in told
    assert "lens is 110 mm for power-speed-1 and not told" in told


def test_the_profile_tells_them_and_is_read_back(tmp_path) -> None:
    trial = marked_with(LOW)
    found = fitted_profile(fit_filament([trial], BELIEVED))
    assert found.extra_settings == dict(LOW)
    (tmp_path / "moss.yaml").write_bytes(profile_bytes(found, [trial]))
    filament, trials = read_profile(tmp_path / "moss.yaml")
    assert filament.extra_settings == dict(LOW)
    assert trials == (trial,)
    # old trials of the profile and new ones are compared alike
    assert "60 kHz" in refusal(*trials, marked_with(HIGH, "row-span-2"))
