"""What a way asks of a recipe's passes."""

from preprocess.advice.ways import Sweep, Way, edit_of
from preprocess.model.artwork.settings import Direction

FERN = (
    {"strokes-to-areas": {"wider_than": "0.3 mm"}},
    "merge",
    {"inset-tips": {"narrower_than": "0.4 mm"}},
    {"tag-power": {"by": "width", "levels": 3}},
    {"equalize-width": {"clearance": "1 mm", "span": "9 mm"}},
)
KEPT = FERN[0], FERN[2]


def test_the_recipe_as_it_stands_is_not_touched():
    edit = edit_of(Way(given=True), FERN)
    assert (edit.passes, edit.engrave) == (FERN, {})


def test_passes_that_prepare_the_drawing_stay_in_their_order():
    assert edit_of(Way(), FERN).passes == (*FERN[:3],)
    assert edit_of(Way(sweep=Sweep.APART), FERN).passes == (FERN[0], "split", FERN[2])
    assert edit_of(Way(sweep=Sweep.TOGETHER), KEPT).passes == (*KEPT, "merge")
    assert edit_of(Way(sweep=Sweep.APART, cool=True), ()).passes == ("split", "order-shapes")


def test_levels_come_before_bars_and_powers_are_solved_last():
    way = Way(levels=3, bars=True)
    assert edit_of(way, FERN).passes[3:] == (
        {"tag-power": {"by": "heat", "levels": 3}},
        {"equalize-width": {"clearance": "1 mm"}},
        "solve-power",
    )
    assert edit_of(Way(levels=1), ()).passes == ("solve-power",)
    assert edit_of(Way(bars=True, even=0.1), ()).passes == (
        {"equalize-width": {"until": {"evenness": "10 %"}}},
    )


def test_rows_of_our_own_come_last_with_the_settings_of_scoring():
    edit = edit_of(Way(sweep=Sweep.TOGETHER, every=3, power=0.5, speed=900.0), FERN)
    assert edit.passes[-1] == {"hatch": {"every": 3}}
    assert edit.score == edit.engrave == {"power": "50 %", "speed": "900 mm/s"}
    assert edit_of(Way(power=0.5), FERN).score == {}


def test_settings_carry_their_units():
    way = Way(power=0.62, speed=900.0, pitch=0.125, angle=90.0, direction=Direction.TWO_WAY)
    assert edit_of(way, ()).engrave == {
        "power": "62 %", "speed": "900 mm/s", "pitch": "0.125 mm", "angle": "90 deg",
        "direction": "two-way",
    }  # fmt: skip
