"""A stem 2 mm wide behind a bed, a page and paint: how far its centre line runs on, by hand."""

from __future__ import annotations

from math import sqrt
from pathlib import Path

import pytest

from preprocess.pipeline import convert
from preprocess.recipe.load import recipe_from_mapping

CODE = "traced-where-hidden"
SCORED = [{"name": "stems", "operation": "score", "choose": {"select": "path"}}]


def told(body: str, **recipe) -> list[tuple[str, tuple[str, ...]]]:
    """Words and elements of the finding on a page of 40 × 20 mm."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">'
        f'<clipPath id="bed"><rect x="10" y="2" width="20" height="16"/></clipPath>{body}</svg>'
    )
    loaded = recipe_from_mapping({"recipe": 1, **recipe}, folder=Path())
    found = convert(loaded, svg.encode(), "label.svg").findings
    return [(one.message, one.elements) for one in found if one.code == CODE]


def stem(ends: str = "M2 10 H38", width: float = 2.0, more: str = 'clip-path="url(#bed)"') -> str:
    return f'<path id="stem" d="{ends}" fill="none" stroke="#000" stroke-width="{width}" {more}/>'


def far(text: str) -> float:
    return float(text.partition("up to ")[2].partition(" mm")[0])


@pytest.mark.parametrize("width", [0.4, 2.0])
def test_a_stem_runs_on_beyond_its_clip_by_the_reach_of_a_square_cap(width):
    # the corner of a square cap lies √2 half widths from the end of its line
    [(message, elements)] = told(stem(width=width))
    assert message.startswith("1 line is traced up to ")
    assert far(message) == pytest.approx(width / sqrt(2), rel=0.05)
    assert elements == ("stem",)


def test_a_stem_under_paint_of_the_page_runs_on_into_it():
    paint = '<rect x="16" y="4" width="8" height="12" fill="#fff"/>'
    [(message, _)] = told(stem(more="") + paint)
    assert far(message) == pytest.approx(sqrt(2), rel=0.05)


def test_a_stem_that_leaves_the_page_runs_on():
    [(message, _)] = told(stem("M-9 10 H30", more=""))
    assert far(message) == pytest.approx(sqrt(2), rel=0.05)


@pytest.mark.parametrize(
    ("body", "recipe"),
    [
        (stem(), {"layers": SCORED}),  # such a layer ends its lines at the clip
        (stem(), {"passes": ["strokes-to-areas"]}),
        (stem("M12 10 H28"), {}),  # inside the clip
        (stem(more=""), {}),  # shows as a whole
        (stem(width=0.06), {}),  # runs on by less than anyone sees
    ],
)
def test_what_ends_where_it_shows_is_not_told(body, recipe):
    assert told(body, **recipe) == []
