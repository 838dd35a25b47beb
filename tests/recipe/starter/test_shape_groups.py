"""Groups of the first recipe: editor layers and their paints, not the groups inside them."""

from __future__ import annotations

import pytest

from preprocess.model.artwork.settings import Operation
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from preprocess.recipe.starter.drawing_measures import measure_drawing
from preprocess.recipe.starter.first_recipe import first_recipe

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:n="https://evenmark.invalid/n" '
    'width="60mm" height="40mm" viewBox="0 0 60 40">'
)
EDGE = (
    '<g n:groupmode="layer" n:label="Part"><rect id="edge" x="1" y="1" width="58" height="38" '
    'fill="none" stroke="#d00000" stroke-width="0.1"/>{}</g>'
)
HOLE = '<circle {} r="2" fill="none" stroke="#d00000" stroke-width="0.1"/>'
HOLES = HOLE.format('id="hole-1" cx="4" cy="4"') + HOLE.format('id="hole-2" cx="56" cy="36"')
STEM = '<path id="stem" d="M10 19h30v2h-30z"/>'
FRONDS = (
    '<g n:label="fronds"><path id="f1" d="M12 10h3v12h-3z"/><path id="f2" d="M20 9h4v13h-4z"/></g>'
)
ART = f'<g n:groupmode="layer" n:label="Art">{STEM}{FRONDS}</g>'
WORDS = '<g n:groupmode="layer" n:label="Lettering"><path d="M10 30h30v3h-30z"/></g>'


def drawing(*body: str) -> bytes:
    return f"{HEAD}{''.join(body)}</svg>".encode()


def recipe(data: bytes):
    text = first_recipe(measure_drawing(data, "label.svg"), "label.svg", "label.svg")
    return load_recipe(None, text), text


def chosen(data: bytes) -> list[tuple[str | None, str | None, Operation]]:
    loaded, _ = recipe(data)
    rules = loaded.options.layers
    return [(rule.choose.label, rule.choose.colour, rule.operation) for rule in rules]


def findings(data: bytes) -> set[str]:
    loaded, _ = recipe(data)
    result = convert(loaded, data, "label.svg")
    assert result.data is not None
    return {finding.code for finding in result.findings}


def test_groups_inside_one_editor_layer_are_one_layer_and_marked_once() -> None:
    data = drawing(EDGE.format(""), ART, WORDS)
    assert chosen(data) == [
        ("Art", None, Operation.ENGRAVE),
        ("Lettering", None, Operation.ENGRAVE),
    ]
    # the stem of 30 × 2 mm and the fronds of 3 × 12 and 4 × 13 mm overlap on 3 × 2 and 4 × 2 mm
    loaded, _ = recipe(data)
    after = convert(loaded, data, "label.svg").after
    art = sum(shape.geometry.area for shape in after.shapes if shape.layer == "art")
    assert art == pytest.approx(30 * 2 + 3 * 12 + 4 * 13 - 7 * 2, abs=1e-9)
    assert "marked-twice" not in findings(data)


def test_each_paint_within_an_editor_layer_is_a_layer() -> None:
    seed = '<path d="M45 10h4v4h-4z" fill="#d06000"/>'
    data = drawing(f'<g n:groupmode="layer" n:label="Art">{FRONDS}{seed}</g>', WORDS)
    assert chosen(data) == [
        ("Art", "#000000", Operation.ENGRAVE),
        ("Art", "#d06000", Operation.ENGRAVE),
        ("Lettering", None, Operation.ENGRAVE),
    ]
    assert not findings(data) & {"empty-layer", "no-layer-chosen"}


def test_paints_that_lie_on_one_another_stay_one_layer() -> None:
    vein = '<path d="M11 19.5h28v1h-28z" fill="#d06000"/>'
    data = drawing(f'<g n:groupmode="layer" n:label="Art">{STEM}{vein}</g>', WORDS)
    assert [colour for _, colour, _ in chosen(data)] == [None, None]
    assert "marked-twice" not in findings(data)
    assert chosen(drawing(STEM, vein)) == []


def test_editor_layers_that_lie_on_one_another_are_not_marked_twice() -> None:
    over = WORDS.replace("M10 30h30v3h-30z", "M10 18h30v3h-30z")
    data = drawing(EDGE.format(""), ART, over)
    assert chosen(data) == []
    assert "marked-twice" not in findings(data)


def test_groups_without_editor_layers_are_told_apart_below_what_holds_them_all() -> None:
    leaves = '<g id="g7"><path d="M2 2h3v3z"/></g><g id="g8"><path d="M9 2h3v3z"/></g>'
    data = drawing(f'<g id="fern"><g id="fronds">{leaves}</g><g id="seeds">{STEM}</g></g>')
    assert [label for label, *_ in chosen(data)] == ["fronds", "seeds"]
    assert not findings(data) & {"empty-layer", "no-layer-chosen"}


def test_closed_lines_drawn_like_the_outline_are_kept_off() -> None:
    loaded, _ = recipe(drawing(EDGE.format(HOLES), ART, WORDS))
    assert [part.outline for part in loaded.options.parts] == ["#edge"]
    assert loaded.options.keep_off == ("#hole-1", "#hole-2")
    assert [rule.name for rule in loaded.options.layers] == ["art", "lettering"]


def test_an_inner_frame_around_the_artwork_is_no_hole() -> None:
    frame = (
        '<rect id="inner" x="3" y="3" width="54" height="34" fill="none" stroke="#d00000" '
        'stroke-width="0.1"/>'
    )
    loaded, _ = recipe(drawing(EDGE.format(frame), ART, WORDS))
    assert loaded.options.keep_off == ()
    assert ("Part", None, Operation.SCORE) in chosen(drawing(EDGE.format(frame), ART, WORDS))


def test_a_closed_line_of_another_pen_is_no_hole() -> None:
    other = HOLE.format('id="bud" cx="4" cy="4"').replace("0.1", "0.2")
    assert recipe(drawing(EDGE.format(other), ART))[0].options.keep_off == ()


def test_holes_without_ids_are_guides_and_the_recipe_says_how_to_keep_them_off() -> None:
    hole = HOLE.format('cx="4" cy="4"')
    data = drawing(EDGE.format(hole), ART, WORDS)
    loaded, text = recipe(data)
    assert loaded.options.keep_off == ()
    assert chosen(data)[0] == ("Part", None, Operation.GUIDE)
    assert "1 closed line inside the part is drawn like its outline but has no id" in text


def test_a_hole_within_a_hole_counts_as_one_more() -> None:
    sunk = HOLES + HOLE.format('id="sunk" cx="4" cy="4"').replace('r="2"', 'r="2.5"')
    assert recipe(drawing(EDGE.format(sunk), ART))[0].options.keep_off == (
        "#hole-1",
        "#hole-2",
        "#sunk",
    )
