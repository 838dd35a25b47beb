"""Findings beside the figures of a fit."""

from preprocess.calibrate.fit.diagnostics import diagnose
from preprocess.calibrate.fit.fit import fit_filament
from tests.calibrate.fits import fitted, graded
from tests.simulated_users import (
    BELIEVED,
)


def test_a_cell_that_disagrees_is_named():
    # A is 12 % at 600 mm/s, B the same at 300: cooler than all others, and yet A1 is molten
    grades = ["molten", "weak", "even", "even", "even", "even"]
    grades += ["molten", "molten", "molten", "molten", "molten", "molten"]
    told = [
        f for f in diagnose(fit_filament([graded(*grades)], BELIEVED)) if f.code == "cell-disagrees"
    ]
    assert any(
        "cell A1 of power-speed" in f.message
        and "is molten, but the others suggest weak" in f.message
        for f in told
    )


def test_an_end_that_no_cell_shows_is_called_a_guess():
    told = {
        f.code: f for f in diagnose(fit_filament([graded(*["weak"] * 4, *["even"] * 2)], BELIEVED))
    }
    assert "no cell is heavy" in told["open-end"].message
    assert "more power" in told["open-end"].remedy


def test_more_heat_than_one_coupon_tells_is_said():
    told = [f.message for f in diagnose(fitted(5)) if f.code == "not-told"]
    assert any("optical depth" in message for message in told)
