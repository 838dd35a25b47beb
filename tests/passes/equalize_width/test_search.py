"""equalize-width until rows are even: the least span, the fewest rows, and what is refused."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import MultiPolygon, Polygon, box

from preprocess.engine.facts import BARRED
from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from preprocess.marking.evenness.objective import EvennessFigures, objective_of_artwork
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import lit_row_medians
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.settings import Direction
from preprocess.passes.equalize_width.bar_wish import Until
from preprocess.passes.equalize_width.equalize_width import EqualizeWidth
from preprocess.passes.equalize_width.search import search_bars, steps_to
from preprocess.passes.tag_power.heat_bands import FIRST, LAST
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.passes.benches import shape
from tests.passes.solving import UNKNOWN, art

TO_TEN = Until(evenness=0.1)
TRIANGLE = Polygon([(10, 4), (22, 4), (16, 18)])
"""140 rows, the k-th 12 − 12 k / 140 mm wide."""

LABEL = box(6, 2, 26, 20)


def triangle(part=TRIANGLE, **settings):
    return art(shape("leaf", TRIANGLE), parts=[part], **settings)


def hot(artwork):
    """The worst place over the median, by the objective of all commands."""
    return objective_of_artwork(artwork, UNKNOWN).likely.hot


def told(outcome, code="bars-suffice"):
    (finding,) = (f for f in outcome.findings if f.code == code)
    return finding.message


def numbers(text):
    return [float(n) for n in re.findall(r"\d+(?:\.\d+)?", text)]


# the search by itself


class Bars:
    """Stands for bars: nothing is known of them but what a search may ask."""

    def __init__(self, name):
        self.wkb = name
        self.is_empty = not name


def searched(off_of, goal, full=20.0):
    lay = lambda span, below: SimpleNamespace(
        barred=[SimpleNamespace(bars=Bars(f"{span} {below}"), trial=(span, below))]
    )
    even = lambda value: EvennessFigures(hot=value, cold=0.8, beyond=0.0, seam=0.0)
    measure = lambda laid, _: even(off_of(*laid.barred[0].trial))
    return search_bars(full, lay, measure, even(2.0), goal)


@pytest.mark.parametrize("goal", [1.05, 1.1, 1.2, 1.31, 1.5, 1.9])
def test_the_smallest_span_and_then_the_narrowest_rows_are_found(goal):
    """Against trying all of them, where more bars are never worse."""

    def off_of(span, below):
        rows = min(span, 20.0 if below is None else below)
        return 1 + 1 / (1 + span / 4 + rows / 2)

    found = searched(off_of, goal).least
    spans = [s for s in steps_to(20.0) if off_of(s, None) <= goal]
    if not spans:
        assert found is None
        return
    belows = [b for b in steps_to(spans[0]) if off_of(spans[0], b) <= goal]
    assert found.span == spans[0]
    assert (found.below or found.span) == belows[0]


def test_what_is_found_reaches_the_goal_even_where_more_bars_can_be_worse():
    wavy = lambda span, _: 1.05 if int(span) % 3 == 2 else 1.3
    assert searched(wavy, 1.1).least.even.hot == 1.05


@pytest.mark.parametrize("below", [0.5, 2.0, 8.0])
def test_where_bars_beside_all_rows_are_too_much_fewer_are_tried(below):
    """As where a block has less power already, and must not be cooled by bars as well."""
    off_of = lambda _, rows: 1.05 if rows == below else 1.3
    found = searched(off_of, 1.1)
    assert found.full.even.hot == 1.3
    assert (found.least.span, found.least.below) == (20.0, below)


def test_few_bars_that_do_are_found_though_more_of_them_do_not():
    """Rows beside those with bars can be the hottest: then only few bars and very many do."""
    hot_of = lambda span, rows: 1.05 if span == 20 and (rows is None or 7 <= rows <= 9) else 1.3
    assert searched(hot_of, 1.1).least.below == 7


@pytest.mark.parametrize("error", [-0.02, 0.02])
def test_what_a_quick_look_mistakes_is_set_right_in_full(error):
    def hot_of(span, below):
        rows = min(span, 20.0 if below is None else below)
        return 1 + 1 / (1 + span / 4 + rows / 2)

    def measure(laid, effort):
        hot = hot_of(*laid.barred[0].trial) + (error if effort is Effort.PREVIEW else 0.0)
        return EvennessFigures(hot=hot, cold=0.8, beyond=0.0, seam=0.0)

    lay = lambda span, below: SimpleNamespace(
        barred=[SimpleNamespace(bars=Bars(f"{span} {below}"), trial=(span, below))]
    )
    plain = EvennessFigures(hot=2.0, cold=0.8, beyond=0.0, seam=0.0)
    found = search_bars(20.0, lay, measure, plain, 1.2).least
    truly = searched(hot_of, 1.2).least
    assert (found.span, found.below) == (truly.span, truly.below)


def test_where_nothing_does_the_best_of_all_is_named():
    off_of = lambda _, rows: 1.2 if rows == 4.0 else 1.3
    found = searched(off_of, 1.1)
    assert found.least is None
    assert found.best.below == 4.0


def test_lengths_are_such_as_people_choose():
    assert steps_to(2.2) == [0.5, 1, 1.5, 2, 2.2]
    assert steps_to(12.5)[-4:] == [10, 11, 12, 12.5]
    assert all(a < b for a, b in pairwise(steps_to(45.2003)))


# on the plan as it will be marked


@pytest.fixture(scope="module", params=["own shape", "label"])
def barred(request):
    before = triangle(TRIANGLE if request.param == "own shape" else LABEL)
    return request.param, before, EqualizeWidth(clearance=1.0, until=TO_TEN)(before, UNKNOWN)


def test_rows_are_as_even_as_was_wanted(barred):
    _, before, out = barred
    assert hot(before) > 1.15
    assert hot(out.artwork) <= 1.1
    shown = numbers(told(out).split("predicted")[1])
    assert shown[0] == pytest.approx(100 * (hot(before) - 1), abs=0.06)
    assert shown[1] == pytest.approx(100 * (hot(out.artwork) - 1), abs=0.06)


def test_only_narrow_rows_get_bars_at_a_span_that_the_part_allows(barred):
    part, _, out = barred
    (step,) = plan_of(out.artwork, UNKNOWN.machine).steps
    spans = row_spans(step).span
    span, count, total, below = numbers(told(out))[:4]
    own = 12 - 12 * np.arange(140) / 140
    wide = spans > 12.001 if part == "label" else np.isclose(spans, span) & (spans > own + 1e-3)
    assert (int(wide.sum()), len(spans)) == (count, total) == (count, 140)
    # a row is below a width where its own is: 12 − 12 k / 140
    assert (own[wide] < below).all()
    if part == "label":
        # 20 mm, and on both sides the clearance, a hair for rounding and a bar
        assert spans[wide] == pytest.approx(20 + 2 * (1.0 + 1.5e-4 + 0.6))
        assert (own[~wide] >= below).all()
    else:
        assert 2 * (1.0 + 0.6) < span < 12


def test_no_bar_comes_nearer_than_the_clearance(barred):
    _, before, out = barred
    assert out.artwork.shapes[0].bars.distance(before.parts[0]) >= 1.0


def test_costs_are_those_of_the_schedule(barred):
    """Seconds by the time of the whole job, backing by the area of the bars."""
    _, before, out = barred
    one, other = (
        schedule_of(plan_of(a, UNKNOWN.machine), UNKNOWN.machine) for a in (before, out.artwork)
    )
    seconds, area = numbers(told(out).split("bars take ")[1].replace("mm²", ""))[:2]
    assert seconds == pytest.approx(other.total - one.total, rel=0.006)
    assert area == pytest.approx(out.artwork.shapes[0].bars.area, abs=0.05)


def test_a_smaller_span_or_fewer_rows_would_not_do(barred):
    """The steps just below what was found, laid by hand through the other parameters."""
    part, before, out = barred
    span, _, _, below = numbers(told(out))[:4]
    less = {"narrower_than": below - 0.5}
    if part == "own shape":
        less["span"] = span
    assert hot(EqualizeWidth(clearance=1.0, **less)(before, UNKNOWN).artwork) > 1.1


def test_facts_and_ledger(barred):
    _, before, out = barred
    assert BARRED.holds(out.artwork, "fronds")
    assert not imbalances(totals(before), out.changes, totals(out.artwork))


def test_a_wide_part_says_why_no_smaller_span_is_possible(barred):
    part, _, out = barred
    assert ("only beside narrow places of the part" in told(out)) is (part == "label")


# what needs none, and what bars cannot do


def test_rows_that_are_even_get_no_bars():
    before = art(shape("bed", box(8, 4, 20, 14)), parts=[LABEL])
    out = EqualizeWidth(until=TO_TEN)(before, UNKNOWN)
    assert "no bars added" in told(out, "even-without-bars")
    assert out.artwork.shapes[0].bars == MultiPolygon()
    assert BARRED.holds(out.artwork, "fronds")
    assert out.changes == ()


def test_rows_that_find_the_plastic_cold_after_a_blank_ask_for_no_bars():
    """Bands of seed-heads: the first rows of each are cold, which no bar could change."""
    bands = MultiPolygon(
        [box(8 + 8 * i, 4 + 5 * j, 12 + 8 * i, 7 + 5 * j) for j in range(3) for i in (0, 1)]
    )
    out = EqualizeWidth(until=TO_TEN)(art(shape("seeds", bands), parts=[LABEL]), UNKNOWN)
    assert "even-without-bars" in {f.code for f in out.findings}
    (image,) = heat_index(out.artwork, UNKNOWN).images
    rows = lit_row_medians(image)[1][FIRST:-LAST]
    assert np.median(rows) / rows.min() > 1.1


def test_other_powers_are_beyond_bars_and_it_says_what_helps():
    """Two levels of one layer, one at half the power: no width of rows makes up for that."""
    halves = [shape("a", box(8, 4, 20, 12), level=1), shape("b", box(8, 12, 20, 19), level=2)]
    before = art(*halves, parts=[LABEL], direction=Direction.TWO_WAY)
    before = replace(before, layers=(replace(before.layers[0], shares=(0.5, 1.0)),))
    with pytest.raises(Refusal, match="bars cannot make rows even to within 10 %") as caught:
        EqualizeWidth(until=TO_TEN)(before, UNKNOWN)
    assert "one-way" in caught.value.remedy
    assert "solve-power" in caught.value.remedy
    least = numbers(caught.value.remedy)[-1]
    EqualizeWidth(until=Until(evenness=least / 100))(before, UNKNOWN)


@pytest.mark.parametrize("given", [{"span": 40.0}, {"narrower_than": 5.0}, {"quicker_than": 0.01}])
def test_what_it_looks_for_itself_is_not_to_be_given(given):
    with pytest.raises(
        Refusal,
        match=f"until searches for span and rows, but the step also gives {next(iter(given))}",
    ):
        EqualizeWidth(until=TO_TEN, **given)(triangle(), UNKNOWN)


def test_art_beside_the_part_cannot_be_made_even():
    with pytest.raises(Refusal, match="no engraved area lies on a part"):
        EqualizeWidth(until=TO_TEN)(triangle(box(40, 30, 50, 38)), UNKNOWN)


EVEN = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
  <path id="bed" d="M10 8 H30 V20 H10 Z"/></svg>"""
EVEN_RECIPE = """recipe: 1
machine: {field: [110 mm, 110 mm], spot: 0.06 mm}
part: {outline: [30 mm, 20 mm]}
settings: {engrave: {power: 50 %, speed: 300 mm/s, pitch: 0.1 mm}}
passes: [merge, {equalize-width: {until: {evenness: 10 %}}}]
"""


def test_a_drawing_that_needs_no_bars_is_written_without_any():
    result = convert(load_recipe(None, EVEN_RECIPE), EVEN, "bed.svg")
    assert result.data is not None
    assert result.data.count(b"M") == 1
    assert not [f for f in result.findings if f.code == "off-the-field"]


# the span that a refusal names


@pytest.mark.parametrize("span", [6.0, 9.0, 10.3])
def test_a_refused_span_names_one_that_works_on_a_part_of_the_arts_own_shape(span):
    with pytest.raises(Refusal, match="lies in the place of its bars") as caught:
        EqualizeWidth(span=span, clearance=0.0)(triangle(), UNKNOWN)
    least, _ = numbers(caught.value.remedy)[:2]
    # rows of every width up to 12 mm: bars clear them all from 12 + 2 × (0.6 + 0.5) mm on
    assert least == pytest.approx(14.2, abs=0.011)
    out = EqualizeWidth(span=least, clearance=0.0)(triangle(), UNKNOWN).artwork
    (step,) = plan_of(out, UNKNOWN.machine).steps
    assert row_spans(step).span == pytest.approx(least, abs=1e-3)


@pytest.mark.parametrize("span", [6.0, 9.0, 10.3])
def test_a_refused_span_names_the_rows_that_may_be_left_instead(span):
    with pytest.raises(Refusal) as caught:
        EqualizeWidth(span=span, clearance=0.0)(triangle(), UNKNOWN)
    below = numbers(caught.value.remedy.split("narrower_than: ")[1])[0]
    # a bar and its distance to the art on either side
    assert below == pytest.approx(span - 2 * (0.6 + 0.5), abs=0.1)
    EqualizeWidth(span=span, narrower_than=below, clearance=0.0)(triangle(), UNKNOWN)
