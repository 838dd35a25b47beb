"""solve-power: closed forms, powers worked out run by run, a triangle that becomes even."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import layer_medians, lit_row_medians
from preprocess.model.artwork.output import output_layers
from preprocess.passes.equalize_width.equalize_width import EqualizeWidth
from preprocess.passes.merge import Merge
from preprocess.passes.solve_power.solve_power import SolvePower
from preprocess.passes.tag_power.tag_power import PowerBy, TagPower
from tests.marking.moving import rows_peak
from tests.passes import cases
from tests.passes.benches import shape
from tests.passes.row_evenness import row_evenness
from tests.passes.solving import (
    KNOWN,
    STEPLESS,
    STUMP,
    UNKNOWN,
    art,
    by_runs,
    peak_at,
    powers,
    triangle,
    wide_and_narrow,
)

# closed forms


@pytest.mark.parametrize("power", [0.12, 0.3, 0.9])
def test_what_repeats_the_graded_patch_gets_its_power(power):
    # the index is proportional to power, and the patch has index 1 by definition
    out = SolvePower()(art(shape("bed", box(5, 5, 13, 13)), power=power), KNOWN)
    assert powers(out.artwork)["fronds"] == pytest.approx(0.5, rel=0.001)
    assert out.artwork.layer("fronds").plain_share == pytest.approx(0.5 / power, rel=0.001)
    assert layer_medians(heat_index(out.artwork, KNOWN))["fronds"] == pytest.approx(1, abs=0.001)


@pytest.mark.parametrize("strength", [0.0, 0.25, 0.5, 0.75, 1.0])
def test_strength_is_the_exponent_of_what_is_made_up_for(strength):
    # 30 % becomes 30 % × (50 / 30)^strength on the patch that was graded at 50 %
    out = SolvePower(strength=strength)(art(shape("bed", box(5, 5, 13, 13))), KNOWN)
    assert powers(out.artwork)["fronds"] == pytest.approx(0.3 * (5 / 3) ** strength, rel=0.001)


def test_copies_far_apart_get_the_same_power():
    beds = [shape(n, box(x, 5, x + 6, 9), n) for n, x in (("one", 5.0), ("two", 45.0))]
    found = powers(SolvePower()(art(*beds), KNOWN).artwork)
    assert found["one"] == pytest.approx(found["two"], abs=2e-4)


# against superposition over every run


def test_powers_of_beds_far_apart_are_inverse_to_their_indices():
    made = wide_and_narrow()
    out = SolvePower()(made, UNKNOWN).artwork
    found = powers(out)
    ratio = by_runs(made, UNKNOWN, "stem") / by_runs(made, UNKNOWN, "bed")
    assert ratio > 1.1
    assert found["bed"] == pytest.approx(0.3)
    assert found["stem"] == pytest.approx(0.3 / ratio, rel=0.01)


def test_neighbours_are_even_by_every_run_once_they_are_solved():
    """A thin leaf right beside a bed, marked after it: its warmth counts."""
    made = art(shape("bed", box(4, 6, 16, 10), "bed"), shape("stem", box(6, 10.1, 7, 14), "stem"))
    out = SolvePower()(made, UNKNOWN).artwork
    before = by_runs(made, UNKNOWN, "stem") / by_runs(made, UNKNOWN, "bed")
    after = by_runs(out, UNKNOWN, "stem") / by_runs(out, UNKNOWN, "bed")
    assert abs(before - 1) > 0.05
    assert after == pytest.approx(1, abs=0.02)


# how even a triangle becomes


TRIANGLE = Polygon([(0, 0), (36, 0), (18, 50)])
STUDIED = {
    1: (1.314, 0.059),
    2: (1.113, 0.032),
    3: (1.065, 0.028),
    4: (1.049, 0.023),
    6: (1.030, 0.018),
}
"""Largest over median and variation of row medians with so many levels of the index, 300 mm/s
one-way, 0.1 s between levels. The rows by hand below have them too, at the same powers."""


def solved_triangle(levels, by):
    cut = TagPower(levels=levels, by=by)(art(shape("triangle", TRIANGLE)), UNKNOWN).artwork
    made = SolvePower()(cut, UNKNOWN).artwork
    return made, row_evenness(heat_index(made, UNKNOWN), set(powers(made)))


def rows_by_hand(made):
    """Every row of a triangle in levels, with its level: one-way at 300 mm/s, 3 W at 100 %."""
    rows, levels, clock, left_at = [], [], 0.0, None
    for output in output_layers(made):
        _, top, _, bottom = shapely.total_bounds([s.geometry for s in output.shapes])
        numbers = [n for n in range(500) if top - 1e-6 <= 0.1 * n < bottom - 1e-6]
        for n in numbers:
            width = 36 * (1 - 0.1 * n / 50)
            left, right = 18 - width / 2, 18 + width / 2
            if left_at is not None and n == numbers[0]:
                away = np.hypot(left - left_at[0], 0.1 * n - left_at[1])
                clock += 0.1 + 1.2e-3 + away / 2500
            rows.append((clock, left, right, 0.1 * n, 3.0 * output.settings.power / 300))
            levels.append(output.id)
            clock += width / 300 + (0.0 if n == numbers[-1] else 1.2e-3 + width / 2500)
            left_at = (right, 0.1 * n)
    return rows, levels


def compared_by_hand(made):
    """Row medians of the field over peaks by hand, on rows of each level wider than 2 mm."""
    rows, levels = rows_by_hand(made)
    how = {"speed": 300.0, "depth": 0.05, "sigma": 0.02, "smooth": 0.3**2 / 12, "later": 4}
    found = {}
    for image in heat_index(made, UNKNOWN).images:
        v, median = lit_row_medians(image)
        mine = np.flatnonzero(np.array(levels) == image.output)
        for number in mine[(np.linspace(0.1, 0.9, 5) * len(mine)).astype(int)]:
            if rows[number][2] - rows[number][1] < 2.0:
                continue
            at = np.abs(v - rows[number][3]).argmin()
            found[int(number)] = median[at] / rows_peak(rows, number, 18.0, **how)
    return np.array(list(found.values()))


def test_a_triangle_without_levels_is_as_uneven_as_by_hand():
    made = art(shape("triangle", TRIANGLE))
    even = row_evenness(heat_index(made, UNKNOWN), {"fronds"})
    assert even.rows == pytest.approx(STUDIED[1][0], abs=0.015)
    assert even.rows_cv == pytest.approx(STUDIED[1][1], abs=0.005)
    rows, _ = rows_by_hand(made)
    how = {"speed": 300.0, "depth": 0.05, "sigma": 0.02, "smooth": 0.3**2 / 12, "later": 4}
    every = [rows_peak(rows, n, 18.0, **how) for n in range(30, 492, 21)]
    tip = max(rows_peak(rows, n, 18.0, **how) for n in (486, 489, 491))
    assert tip / np.median(every) == pytest.approx(even.rows, abs=0.015)


@pytest.mark.parametrize("levels", [2, 3, 4, 6])
def test_by_heat_a_triangle_becomes_more_even_with_each_level(levels):
    made, even = solved_triangle(levels, PowerBy.HEAT)
    largest, variation = STUDIED[levels]
    assert even.rows <= largest + 0.002
    assert even.rows_cv <= variation + 0.002
    found = list(powers(made).values())
    assert found == sorted(found, reverse=True)
    ratio = compared_by_hand(made)
    assert ratio == pytest.approx(np.median(ratio), rel=0.01)


@pytest.mark.parametrize("by", [PowerBy.ROW_SPAN, PowerBy.RETURN_TIME])
@pytest.mark.parametrize("levels", [2, 3, 4])
def test_by_span_or_return_time_it_varies_as_little_but_for_the_tip(levels, by):
    """Their levels part at longer rows than those of the index: more is left at the tip."""
    _, even = solved_triangle(levels, by)
    largest, variation = STUDIED[levels]
    assert largest < even.rows < largest + 0.08
    assert even.rows_cv <= variation + 0.004


def test_each_level_has_the_index_that_is_aimed_at():
    found = layer_medians(heat_index(SolvePower()(triangle(), KNOWN).artwork, KNOWN))
    assert list(found) == ["fronds-1", "fronds-2", "fronds-3"]
    assert list(found.values()) == pytest.approx([1, 1, 1], abs=0.006)


def test_without_grades_the_widest_level_keeps_its_power_and_the_others_follow_its_index():
    out = SolvePower()(triangle(bench=UNKNOWN), UNKNOWN)
    one, two, three = powers(out.artwork).values()
    assert one == 0.3 > two > three
    found = list(layer_medians(heat_index(out.artwork, UNKNOWN)).values())
    assert found == pytest.approx([found[0]] * 3, rel=0.006)
    ranked = next(f for f in out.findings if f.code == "powers-by-ranking")
    assert "uncalibrated: ranking only" in ranked.message
    assert "index of fronds-1" in ranked.message


def test_bars_are_simulated_too():
    """With all rows equally long a thin stem is cooler than the block, without bars hotter."""
    cut = TagPower(levels=2)(art(shape("stump", STUMP), parts=[box(9, 4, 21, 16)]), UNKNOWN).artwork
    bare = powers(SolvePower()(cut, UNKNOWN).artwork)
    barred = EqualizeWidth()(cut, replace(UNKNOWN, machine=STEPLESS)).artwork
    even = powers(SolvePower()(barred, UNKNOWN).artwork)
    assert bare["fronds-2"] < 0.95 * 0.3
    assert even["fronds-2"] > 1.01 * 0.3
    assert bare["fronds-1"] == even["fronds-1"] == 0.3


# the fixtures


SOLVED = {
    "like-the-graded-patch": {"artwork": 0.55},
    "wide-and-narrow": {"bed": 0.6, "stem": 0.5},
    "slanted-blade": {"artwork-1": 0.515, "artwork-2": 0.475, "artwork-3": 0.425},
    "between-bars": {"artwork-1": 0.6, "artwork-2": 0.61},
}


@pytest.mark.parametrize("name", sorted(SOLVED))
def test_the_cases_get_their_powers(name):
    _, result = cases.run(cases.FOLDER / "solve-power" / name)
    assert powers(result.after) == SOLVED[name]


def test_the_stem_of_the_case_by_every_run():
    loaded, result = cases.run(cases.FOLDER / "solve-power" / "wide-and-narrow")
    ratio = by_runs(result.before, result.bench, "stem") / by_runs(
        result.before, result.bench, "bed"
    )
    assert SOLVED["wide-and-narrow"]["stem"] == pytest.approx(0.6 / ratio, abs=0.0051)
    assert loaded.steps[-1].name == "solve-power"


def test_levels_of_the_blade_are_alike_by_every_run():
    """A row t of the blade lies about (8 + 12 t, 4 + 22 t) and is 72 t (1 − t) mm wide.

    The rows are those next to 1/6, 1/2 and 5/6 of half a level's area; places in a row are at 1/6,
    1/2 and 5/6 of its width. At one power levels 2 and 3 would be 7 and 15 % hotter than level 1.
    """
    _, result = cases.run(cases.FOLDER / "solve-power" / "slanted-blade")
    rows = {
        "artwork-1": (0.193, 0.333, 0.446, 0.554, 0.667, 0.807),
        "artwork-2": (0.036, 0.056, 0.070, 0.930, 0.944, 0.964),
        "artwork-3": (0.008, 0.014, 0.018, 0.982, 0.986, 0.992),
    }
    peaks = {
        name: peak_at([p for t in ts for p in _places(t)], result.after, result.bench, name)
        for name, ts in rows.items()
    }
    assert peaks["artwork-2"] == pytest.approx(peaks["artwork-1"], rel=0.02)
    assert peaks["artwork-3"] == pytest.approx(peaks["artwork-1"], rel=0.02)


def _places(t):
    down = round(22 * t, 1)  # a row every 0.1 mm, from the first tip on
    t = down / 22
    return [(8 + 12 * t + 72 * t * (1 - t) * u, 4 + down) for u in (-1 / 3, 0, 1 / 3)]


def test_merging_first_leaves_less_to_solve():
    """Leaflets side by side: as one compound their rows are long, and near even by themselves."""
    leaflets = [shape(f"l{x}", box(x, 5, x + 1.5, 11)) for x in (5, 8, 11, 14)]
    apart, together = art(*leaflets), Merge()(art(*leaflets), UNKNOWN).artwork
    index = [layer_medians(heat_index(made, KNOWN))["fronds"] for made in (apart, together)]
    assert index[0] > 1.05 * index[1]
    found = [powers(SolvePower()(made, KNOWN).artwork)["fronds"] for made in (apart, together)]
    assert found[0] / found[1] == pytest.approx(index[1] / index[0], rel=0.01)
