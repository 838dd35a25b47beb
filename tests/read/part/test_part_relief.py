"""Reliefs from models: figures of the part, and a sentence for each thing a person may overlook."""

from __future__ import annotations

import math

import numpy as np
import pytest

from preprocess.errors import UserError
from preprocess.model.bench.part import ModelUnit, Up
from tests.read.mesh.mesh_files import box
from tests.read.part.parts import MACHINE, RIBBED, seen, told


def test_a_ribbed_plate() -> None:
    model = seen(in_focus=0.3)
    part, relief = model.part, model.relief
    assert (part.height, part.height_range, part.thickness) == (3.0, 0.0, 3.0)
    assert relief.outline.bounds == pytest.approx((-30, -15, 30, 15))
    assert relief.raised.area == pytest.approx(20)
    assert relief.flat.area == pytest.approx(60 * 30 - 20)
    assert relief.raised.bounds == pytest.approx((10, -5, 12, 5))
    assert "60.00 × 30.00 mm, 3.80 mm high" in told(model, "model-read")[0]


def test_up_the_model_is_up_the_page() -> None:
    """A rib at large y of the model lies at small y of the page."""
    upper = np.concatenate([box(0, 0, 0, 60, 30, 3), box(0, 20, 2, 60, 30, 3.8)])
    assert seen(upper, in_focus=0.3).relief.raised.bounds == pytest.approx((-30, -15, 30, -5))


def test_what_is_in_focus_follows_from_the_spot_and_is_said() -> None:
    """zR = π 0.03² / 0.001064 = 2.657 mm; √(1.05² - 1) = 0.3202 of it is 0.851 mm."""
    model = seen(machine=MACHINE)
    rayleigh = math.pi * 0.03**2 / 0.001064
    assert model.relief.in_focus == pytest.approx(rayleigh * math.sqrt(1.05**2 - 1))
    assert model.relief.in_focus == pytest.approx(0.851, abs=5e-4)
    assert model.relief.raised.is_empty
    assert model.part.height_range == pytest.approx(0.8)
    assert "±0.85 mm: there an ideal spot of 0.06 mm" in told(model, "model-focus")[0]
    assert "unknown" in told(seen(), "model-focus")[0]
    found = [*model.findings, *seen().findings]
    remedies = [one.remedy for one in found if one.code == "model-focus"]
    assert len(remedies) == 2
    assert all("focus-steps" in remedy for remedy in remedies)


def test_the_recipe_comes_before_the_model() -> None:
    model = seen(height=7.0, thickness=2.0, height_range=0.1)
    part = model.part
    assert (part.height, part.thickness, part.height_range) == (7.0, 2.0, 0.1)
    assert "7 mm above the bed, the model 3.00 mm" in told(model, "model-height")[0]


def test_another_level_may_be_named() -> None:
    step = np.concatenate([box(0, 0, 0, 60, 30, 2), box(40, 0, 1, 60, 30, 3)])
    model = seen(step)
    assert model.relief.plane == pytest.approx(2.0)
    assert told(model, "model-levels") == [
        "the part is level at 2.00 mm (12 cm²), 3.00 mm (6 cm²); the largest was taken"
    ]
    upper = seen(step, at=3.0)
    assert upper.relief.flat.area == pytest.approx(600)
    assert not told(upper, "model-levels")


@pytest.mark.parametrize(
    ("up", "size"),
    [
        (Up.Z, (60, 30)),
        (Up.MINUS_Z, (60, 30)),
        (Up.X, (3, 30)),
        (Up.MINUS_X, (3, 30)),
        (Up.Y, (60, 3)),
        (Up.MINUS_Y, (60, 3)),
        (Up.FACE, (60, 30)),
    ],
)
def test_each_side_can_be_up(up: Up, size: tuple[float, float]) -> None:
    left, top, right, bottom = seen(box(0, 0, 0, 60, 30, 3), up=up).relief.outline.bounds
    assert (right - left, bottom - top) == pytest.approx(size)


def test_a_leaning_face_is_made_level() -> None:
    """A plate turned by 20° about y: seen from above it is too slanted, as a face it is whole."""
    lean = math.radians(20)
    turn = np.array(
        [[math.cos(lean), 0, math.sin(lean)], [0, 1, 0], [-math.sin(lean), 0, math.cos(lean)]]
    )
    leaning = box(0, 0, 0, 60, 30, 3) @ turn.T
    with pytest.raises(UserError) as caught:
        seen(leaning)
    assert "nothing of the part faces the beam within 15°" in str(caught.value)
    assert "leaning 20° (18 cm²)" in str(caught.value)
    assert "up: face" in str(caught.value)
    assert seen(leaning, up=Up.FACE).relief.flat.area == pytest.approx(1800)


def test_a_part_on_its_edge_is_told() -> None:
    model = seen(box(0, 0, 0, 60, 3, 30))
    (message,) = told(model, "model-faces-away")
    assert "-y (18 cm²); 1.8 cm² face the beam" in message or "+y (18 cm²)" in message


def test_thin_walls_are_told() -> None:
    hollow = np.concatenate([box(0, 0, 0, 60, 30, 3), box(20, 5, 0.5, 40, 25, 2.5)[:, ::-1]])
    (message,) = told(seen(hollow), "model-thin")
    assert "less than 0.8 mm of plastic under them, the least 0.5 mm" in message
    size = float(message.split()[0])
    assert size == pytest.approx(400, rel=0.1)


def test_open_meshes_are_read_and_told() -> None:
    model = seen(RIBBED[2:])
    assert "4 edges without a partner" in told(model, "model-open")[0]
    assert model.part.thickness is None
    assert model.relief.raised.area == pytest.approx(20)
    assert not told(model, "model-open-surface")
    torn = seen(np.delete(RIBBED, 2, axis=0))
    assert told(torn, "model-open-surface")
    assert torn.relief.sunk.area == pytest.approx(900 - 20, abs=20)


def test_a_body_inside_out_is_read_and_told() -> None:
    model = seen(RIBBED[:, ::-1])
    assert "inside out" in told(model, "model-open")[0]
    assert model.relief.raised.area == pytest.approx(20)


def test_a_part_larger_than_the_field_is_told_with_both_sizes() -> None:
    (message,) = told(seen(box(0, 0, 0, 150, 30, 3), MACHINE), "model-beyond-field")
    assert "150.0 × 30.0 mm, the field 110 × 80 mm" in message


FACTORS = {None: 1.0, "mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4}


@pytest.mark.parametrize("unit", [None, *ModelUnit])
@pytest.mark.parametrize("drawn_in", [1.0, 10.0, 1000.0, 25.4])
def test_no_unit_is_wrong_in_silence(unit: ModelUnit | None, drawn_in: float) -> None:
    """A label drawn in each unit is taken at the size that was said, or asked about."""
    width = 60 / drawn_in * FACTORS[unit]
    is_asked = unit is None and drawn_in != 1
    is_no_part = unit is not None and not 0.5 <= width <= 10_000
    if is_asked or is_no_part:
        with pytest.raises(UserError, match="unit: inch" if is_asked else "correct its unit"):
            seen(RIBBED / drawn_in, unit=unit)
        return
    outline = seen(RIBBED / drawn_in, unit=unit).relief.outline
    assert outline.bounds[2] * 2 == pytest.approx(width, abs=2e-5)


def test_the_question_about_a_unit_shows_both_sizes() -> None:
    with pytest.raises(UserError, match=r"2.36 × 1.18 × 0.15 mm; were it drawn in inches, 60 × 30"):
        seen(RIBBED / 25.4)
