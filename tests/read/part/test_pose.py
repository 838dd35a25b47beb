"""Poses: a model laid by its centre, by a corner, or under a drawn outline."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, scale, translate

from preprocess.errors import UserError
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.model.artwork.artwork import Page
from preprocess.model.bench.part import Corner, Part, PartPlace
from preprocess.read.part.pose import pose_on_page, pose_under_outline
from tests.read.mesh.mesh_files import box
from tests.read.part.parts import RIBBED, seen

RELIEF = seen(in_focus=0.3).relief
PAGE = Page(width=110, height=80)
LEAN = seen(np.concatenate([RIBBED, box(50, 25, 0, 66, 36, 3)]), in_focus=0.3).relief
"""A plate with a corner that tells its sides apart: 66 × 36 mm."""


def _part(**place):
    return Part(model="label.stl", place=PartPlace(**place))


@pytest.mark.parametrize(
    ("place", "bounds"),
    [
        ({}, (25, 25, 85, 55)),
        ({"centre": (40.0, 30.0)}, (10, 15, 70, 45)),
        ({"corner": Corner.UPPER_LEFT, "on": (10.0, 12.0)}, (10, 12, 70, 42)),
        ({"corner": Corner.LOWER_RIGHT, "on": (100.0, 70.0)}, (40, 40, 100, 70)),
        ({"corner": Corner.LOWER_LEFT, "on": (10.0, 70.0)}, (10, 40, 70, 70)),
        ({"corner": Corner.UPPER_RIGHT, "on": (100.0, 12.0)}, (40, 12, 100, 42)),
        ({"turn": 90.0}, (40, 10, 70, 70)),
        ({"turn": 90.0, "corner": Corner.UPPER_LEFT, "on": (5.0, 5.0)}, (5, 5, 35, 65)),
    ],
)
def test_a_model_is_laid(place, bounds) -> None:
    laid = apply_affine(RELIEF.outline, pose_on_page(_part(**place), RELIEF, PAGE))
    assert laid.bounds == pytest.approx(bounds)


def test_a_quarter_turn_brings_the_right_end_up() -> None:
    """Counter-clockwise as seen: the rib, 10 to 12 mm right of the middle, lies above it."""
    laid = apply_affine(RELIEF.raised, pose_on_page(_part(turn=90.0), RELIEF, PAGE))
    assert laid.bounds == pytest.approx((50, 28, 60, 30))


def _drawn(turn=0.0, size=1.0, *, mirrored=False):
    outline = scale(LEAN.outline, -size if mirrored else size, size, origin=(0, 0))
    return translate(rotate(outline, -turn, origin=(0, 0)), 60, 40)


def test_a_model_is_laid_under_its_outline() -> None:
    part = _part(outline="#edge")
    pose, findings = pose_under_outline(part, LEAN, _drawn(30), "label.svg")
    laid = apply_affine(LEAN.outline, pose)
    assert shapely.hausdorff_distance(laid.boundary, _drawn(30).boundary) < 0.03
    assert [one.code for one in findings] == ["model-outline"]
    assert "turned by 30" in findings[0].message


def test_a_mirrored_outline_is_refused() -> None:
    with pytest.raises(UserError, match="fits the part only mirrored"):
        pose_under_outline(_part(outline="#edge"), LEAN, _drawn(mirrored=True), "label.svg")


def test_a_drawing_of_another_resolution_is_told() -> None:
    with pytest.raises(UserError, match=r"drawn 0\.75 times as large, it would fit") as caught:
        pose_under_outline(_part(outline="#edge"), LEAN, _drawn(size=96 / 72), "label.svg")
    assert "px_per_inch" in str(caught.value)


def test_another_outline_is_refused() -> None:
    disc = shapely.MultiPolygon([shapely.Point(50, 40).buffer(20)])
    with pytest.raises(UserError, match="off its outline #edge by up to"):
        pose_under_outline(_part(outline="#edge"), LEAN, disc, "label.svg")


def test_ties_are_told_and_one_is_named() -> None:
    plate = seen(box(0, 0, 0, 60, 30, 3)).relief
    drawn = translate(plate.outline, 55, 40)
    pose, findings = pose_under_outline(_part(outline="#edge"), plate, drawn, "label.svg")
    assert pose[0] == pytest.approx(1)
    assert "as well turned by 180°" in findings[1].message
    pose, findings = pose_under_outline(_part(outline="#edge", turn=170.0), plate, drawn, "x")
    assert pose[0] == pytest.approx(-1)
    assert len(findings) == 1
