"""What a way asks of a recipe's passes."""

from preprocess.advice.ways import Way, edit_of
from preprocess.model.artwork.settings import Direction
from preprocess.passes.interleave.interleave import Form
from preprocess.recipe.starter.recipe_edit import rewrite_recipe

FERN = (
    {"strokes-to-areas": {"wider_than": "0.3 mm"}},
    "merge",
    {"inset-tips": {"narrower_than": "0.4 mm"}},
    {"tag-power": {"by": "width", "levels": 3}},
    {"equalize-width": {"clearance": "1 mm", "span": "9 mm"}},
)


def test_the_recipe_as_it_stands_is_not_touched():
    edit = edit_of(Way(given=True), FERN)
    assert (edit.passes, edit.engrave) == (FERN, {})


def test_passes_that_prepare_the_drawing_stay_and_those_for_heat_go():
    assert edit_of(Way(), FERN).passes == FERN[:3]


def test_zones_come_before_bars_and_powers_are_solved_last():
    assert edit_of(Way(levels=3), FERN).passes[3:] == (
        {"tag-power": {"by": "heat", "levels": 3}},
        "solve-power",
    )
    assert edit_of(Way(bars=True), FERN).passes[3:] == (
        {"equalize-width": {"clearance": "1 mm", "until": {"evenness": "10 %"}}},
    )


def test_rounds_come_last_with_their_powers():
    way = Way(
        form=Form.STRIPS, rounds=4, colours=2, powers=(1.0, 0.96), power=0.67,
        direction=Direction.TWO_WAY,
    )  # fmt: skip
    edit = edit_of(way, FERN)
    assert edit.passes[-1] == {
        "interleave": {"form": "strips", "rounds": 4, "colours": 2, "powers": ["100 %", "96 %"]}
    }
    assert edit.engrave == {"direction": "two-way", "power": "67 %"}
    assert edit.score == {}


def test_greys_come_last_and_take_the_place_of_an_earlier_step_of_greys():
    way = Way(images=4, direction=Direction.TWO_WAY)
    edit = edit_of(way, ("merge", {"grey": {"images": 1}}))
    assert edit.passes == ("merge", {"grey": {"images": 4}})
    assert edit.engrave == {"direction": "two-way"}
    assert way.title == "greys in 4 images, two-way"
    assert Way(images=1).title == "greys in 1 image"


def test_own_rows_are_scored_at_the_settings_of_engraving():
    way = Way(form=Form.OWN_ROWS, rounds=4, colours=1, power=0.5, speed=900.0)
    edit = edit_of(way, ())
    assert edit.score == edit.engrave == {"power": "50 %", "speed": "900 mm/s"}


def test_layers_with_equal_settings_become_one():
    text = """recipe: 1
layers:
  - {name: leaf, operation: engrave, choose: {select: "#leaf"}}
  - {name: edge, operation: cut, choose: {select: "#edge"}}
passes: [merge]
"""
    new = rewrite_recipe(text, edit_of(Way(one_layer=True), ("merge",)))
    assert "leaf" not in new
    assert "edge" in new


def test_a_title_says_what_a_person_would_do():
    way = Way(form=Form.OWN_ROWS, rounds=4, colours=1, direction=Direction.TWO_WAY, speed=640.0)
    assert way.title == "own rows in 4 rounds, one colour, two-way, 640 mm/s"
    assert Way().title == "as drawn, one speed and power"


def test_turned_rows_are_a_setting_of_engraving():
    way = Way(form=Form.OWN_ROWS, rounds=4, colours=2, power=0.5, speed=900.0, angle=90.0)
    edit = edit_of(way, ())
    assert edit.engrave["angle"] == "90 deg"
    assert "angle" not in edit.score
    assert "rows at 90 deg" in way.title


def test_ways_of_one_kind_have_form_and_rounds_in_common():
    many = Way(form=Form.OWN_ROWS, rounds=5, colours=4, direction=Direction.TWO_WAY)
    assert many.kind == Way(form=Form.OWN_ROWS, rounds=5, colours=1).kind == "own rows in 5 rounds"
    assert Way(images=4).kind == "greys in 4 images"
