"""The first recipe and frames without id, and hair strokes around fills; it warns of nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from preprocess.recipe.starter.drawing_measures import measure_drawing
from preprocess.recipe.starter.first_recipe import first_recipe
from preprocess.recipe.starter.frames import selector_of
from tests import written_svg as written

FIXTURES = Path(__file__).parents[3] / "fixtures"
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">'
FRAME = '<rect x="2" y="2" width="76" height="46" fill="none" stroke="#000" stroke-width="0.4"/>'
LEAF = '<path d="M10 10 H30 V20 H10 Z" fill="#206020" stroke="#206020" stroke-width="0.1"/>'
STEM = '<path d="M10 30 H40" fill="none" stroke="#000" stroke-width="0.5"/>'


def drawing(*body: str) -> bytes:
    return f"{HEAD}{''.join(body)}</svg>".encode()


def text_for(data: bytes) -> str:
    return first_recipe(measure_drawing(data, "label.svg"), "label.svg", "label.svg")


def ran(data: bytes, text: str | None = None):
    result = convert(load_recipe(None, text or text_for(data)), data, "label.svg")
    assert result.data is not None
    return result


def box_of(result) -> list[float]:
    layers = written.read(result.data)[1]
    points = [p for layer in layers for p in layer.points.tolist()]
    return [*map(min, zip(*points, strict=True)), *map(max, zip(*points, strict=True))]


def test_a_frame_without_id_is_asked_about_and_not_marked() -> None:
    data = drawing(f"<g>{FRAME}</g>", LEAF, STEM)
    text = text_for(data)
    asked = '# part: {outline: "svg > g:nth-of-type(1) > rect:nth-of-type(1)", thickness: 3 mm}'
    assert asked in text
    assert "76 × 46 mm. Is it the part's outline?" in text
    # leaf 10…30 × 10…20 and half its stroke; stem 10…40 at 30, 0.5 mm wide
    assert box_of(ran(data, text)) == pytest.approx([9.95, 9.95, 40, 30.25], abs=1e-3)


def test_its_answers_run_as_the_comment_says() -> None:
    data = drawing(FRAME, LEAF, STEM)
    text = text_for(data)
    lines = [line for line in text.splitlines() if "name: frame" not in line]
    marked = ran(data, "\n".join(lines))
    assert box_of(marked) == pytest.approx([1.8, 1.8, 78.2, 48.2], abs=1e-3)
    as_part = ran(data, "\n".join(lines).replace("# part: {outline", "part: {outline"))
    (part,) = as_part.after.parts
    assert part.bounds == pytest.approx((2, 2, 78, 48))
    assert not [f for f in as_part.findings if f.severity == "warn"]


@pytest.mark.parametrize(
    "frame",
    [
        FRAME.replace('x="2"', 'x="20"'),  # does not go around the leaf
        FRAME.replace('fill="none"', 'fill="#eeeeee"'),  # an area
        FRAME.replace("<rect ", '<rect id="edge" '),  # has a name
        '<path d="M2 2 H78 V48" fill="none" stroke="#000" stroke-width="0.4"/>',  # open
    ],
)
def test_what_is_no_frame_without_id_is_marked(frame) -> None:
    text = text_for(drawing(frame, LEAF, STEM))
    assert "name: frame" not in text


def test_selectors_are_those_of_places() -> None:
    assert selector_of("svg/g[2]/rect[1]") == "svg > g:nth-of-type(2) > rect:nth-of-type(1)"
    assert selector_of("edge") is None
    assert selector_of("leaf/g/path[1]") is None


def test_a_filled_shape_with_a_hair_stroke_is_an_area() -> None:
    layers = written.read(ran(drawing(LEAF)).data)[1]
    assert [layer.filled for layer in layers] == [True]
    assert layers[0].area == pytest.approx(20.1 * 10.1, abs=1e-3)
    text = text_for(drawing(LEAF))
    assert "around_areas: true" in text
    assert "1 filled shape has a stroke of the same paint" in text


def test_a_hair_stroke_of_another_paint_stays_a_line() -> None:
    other = LEAF.replace('stroke="#206020"', 'stroke="#803010"')
    layers = written.read(ran(drawing(other)).data)[1]
    assert [layer.filled for layer in layers] == [True, False]
    assert layers[1].length == pytest.approx(60)


DRAWINGS = [
    path.read_bytes()
    for path in sorted([*FIXTURES.glob("jobs/*/*.svg"), *FIXTURES.glob("passes/*/*/in.svg")])
    if ".laser." not in path.name and ".overlay." not in path.name
]


@pytest.mark.parametrize(
    "data",
    [
        drawing(FRAME, LEAF, STEM),
        drawing(LEAF),
        drawing(STEM),
        drawing(FRAME, STEM),
        *DRAWINGS,
    ],
)
def test_it_runs_without_warnings_of_its_own_making(data) -> None:
    """What the drawing itself is warned of, without a recipe, is not of the recipe's making."""
    result = convert(load_recipe(None, text_for(data)), data, "label.svg")
    bare = convert(load_recipe(None, "recipe: 1\npasses: []\n"), data, "label.svg")
    own = {f.code for f in result.findings if f.severity in {"warn", "stop"}}
    assert own <= {f.code for f in bare.findings if f.severity in {"warn", "stop"}}
