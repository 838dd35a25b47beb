"""Light, code and lightness, against values of the standards."""

from __future__ import annotations

import pytest

from preprocess.photo.srgb import decode_light, lightness


@pytest.mark.parametrize(
    ("code", "light"), [(0, 0.0), (10, 0.003035), (119, 0.184475), (128, 0.215861), (255, 1.0)]
)
def test_codes_of_srgb_as_light(code, light) -> None:
    assert float(decode_light(code)) == pytest.approx(light, abs=2e-6)


@pytest.mark.parametrize(
    ("luminance", "value"), [(0.0, 0.0), (0.001, 0.9033), (0.184187, 50.0), (1.0, 100.0)]
)
def test_lightness_of_luminances(luminance, value) -> None:
    assert float(lightness(luminance)) == pytest.approx(value, abs=1e-3)
