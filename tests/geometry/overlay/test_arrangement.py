"""Fill rules against closed forms and against rows across the raw contours."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from preprocess.geometry.overlay import arrangement as faces
from preprocess.geometry.overlay import clipper
from preprocess.geometry.overlay.arrangement import fill_contours, fill_single_contours
from tests.geometry.rows_agree import area_error, worst_row

RULES = ("nonzero", "evenodd")


def square(x, y, size):
    return np.array([(x, y), (x + size, y), (x + size, y + size), (x, y + size)], float)


def star(radius):
    turn = np.arange(5) * 4 * math.pi / 5
    return radius * np.column_stack((np.cos(turn), np.sin(turn)))


def seed_head(count, seeds, radius):
    """One curve that crosses itself often, like the rows of a seed-head."""
    t = np.linspace(0, 2 * np.pi, count, endpoint=False)
    r = radius * (0.6 + 0.25 * np.cos(seeds * t) + 0.12 * np.cos(11 * t))
    return np.round(np.column_stack((r * np.cos(7 * t), r * np.sin(7 * t))), 6)


def hair(seed, count, width=0.06):
    rng = np.random.default_rng(seed)
    x = np.linspace(0, 30, 25)
    for _ in range(count):
        y = rng.uniform(0, 30) + rng.uniform(1, 5) * np.sin(
            x / rng.uniform(2, 9) + rng.uniform(0, 6)
        )
        up, down = np.column_stack((x, y + width / 2)), np.column_stack((x, y - width / 2))
        yield np.round(np.vstack((up, down[::-1])), 6)


def test_a_five_pointed_star_has_its_middle_only_under_nonzero():
    inner = 10 * math.cos(math.radians(72)) / math.cos(math.radians(36))
    whole = 5 * 10 * inner * math.sin(math.radians(36))
    middle = 2.5 * inner**2 * math.sin(math.radians(72))
    assert fill_contours([star(10)], "nonzero").area == pytest.approx(whole, rel=1e-12)
    assert fill_contours([star(10)], "evenodd").area == pytest.approx(whole - middle, rel=1e-12)
    assert len(fill_contours([star(10)], "evenodd").geoms) == 5


@pytest.mark.parametrize("rule", RULES)
def test_a_figure_of_eight_keeps_both_lobes(rule):
    eight = np.array([(0, 0), (4, 4), (4, 0), (0, 4)], float)
    area = fill_contours([eight], rule)
    assert area.area == pytest.approx(8.0)
    assert len(area.geoms) == 2


def test_a_curve_traced_twice_is_kept_by_nonzero_and_emptied_by_evenodd():
    ring = square(0, 0, 10)
    for twice in ([ring, ring], [np.vstack((ring, ring))]):
        assert fill_contours(twice, "nonzero").area == pytest.approx(100)
        assert fill_contours(twice, "evenodd").is_empty


@pytest.mark.parametrize(
    ("inner", "nonzero", "evenodd"),
    [(square(3, 3, 4), 100, 84), (square(3, 3, 4)[::-1], 84, 84)],
    ids=["same way round", "other way round"],
)
def test_whether_an_inner_ring_is_a_hole_depends_on_rule_and_direction(inner, nonzero, evenodd):
    contours = [square(0, 0, 10), inner]
    for rule, wanted in (("nonzero", nonzero), ("evenodd", evenodd)):
        area = fill_contours(contours, rule)
        assert area.is_valid
        assert [part.area for part in area.geoms] == [wanted]


def test_islands_within_holes_at_any_depth():
    rings = [square(k, k, 20 - 2 * k)[:: (-1) ** k] for k in range(9)]
    wanted = sum((-1) ** k * (20 - 2 * k) ** 2 for k in range(9))
    for rule in RULES:
        area = fill_contours(rings, rule)
        assert area.area == pytest.approx(wanted)
        assert [len(part.interiors) for part in area.geoms] == [1, 1, 1, 1, 0]


def test_an_opposite_ring_cancels_what_it_covers_under_nonzero():
    contours = [square(0, 0, 10), square(5, 0, 10)[::-1]]
    assert fill_contours(contours, "nonzero").area == pytest.approx(100)
    assert fill_contours(contours, "evenodd").area == pytest.approx(100)
    contours = [square(0, 0, 10), square(0, 0, 10)[::-1]]
    assert fill_contours(contours, "nonzero").is_empty


def test_a_spike_that_goes_out_and_back_leaves_no_trace():
    spiked = np.array([(0, 0), (10, 0), (20, 0), (10, 0), (10, 10), (0, 10)], float)
    area = fill_contours([spiked], "nonzero")
    assert area.area == pytest.approx(100)
    assert area.bounds == (0, 0, 10, 10)


def test_a_hole_that_touches_the_outline_in_two_points_splits_it():
    diamond = np.array([(0, 5), (5, 0), (10, 5), (5, 10)], float)
    frame = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], float)
    area = fill_contours([frame, diamond[::-1]], "nonzero")
    assert area.is_valid
    assert [part.area for part in area.geoms] == [12.5] * 4


@pytest.mark.parametrize(
    "contours",
    [
        [],
        [np.empty((0, 2))],
        [np.array([(1.0, 1.0)])],
        [np.array([(0.0, 0.0), (5.0, 5.0)])],
        [np.array([(0.0, 0.0), (5.0, 5.0), (0.0, 0.0)])],
        [np.array([(0.0, 0.0), (5.0, 5.0), (2.0, 2.0)])],
        [np.full((6, 2), 3.0)],
        [np.full((6, 2), 3.0), np.array([(0.0, 0.0), (5.0, 5.0), (2.0, 2.0), (7.0, 7.0)])],
    ],
    ids=["nothing", "no point", "point", "line", "there and back", "flat", "same", "two flats"],
)
@pytest.mark.parametrize("rule", RULES)
def test_contours_without_area_give_nothing(contours, rule):
    area = fill_contours(contours, rule)
    assert area.is_empty
    assert area.geom_type == "MultiPolygon"


def test_a_flat_contour_takes_nothing_from_the_others():
    contours = [square(0, 0, 10), np.array([(2.0, 2.0), (8.0, 2.0)]), np.full((3, 2), 4.0)]
    assert fill_contours(contours, "evenodd").area == pytest.approx(100)


def test_whether_the_first_point_is_repeated_does_not_matter():
    ring = star(10)
    closed = np.vstack((ring, ring[:1]))
    assert fill_contours([ring], "evenodd").equals_exact(fill_contours([closed], "evenodd"))


def test_a_simple_ring_keeps_its_vertices():
    ring = np.array([(0.1, 0.2), (0.7, 0.1), (0.4, 0.4), (0.9, 0.9)])
    area = fill_contours([ring], "nonzero")
    assert {tuple(p) for p in shapely.get_coordinates(area)} == {tuple(p) for p in ring}


DRAWN = {
    "seed-head": [seed_head(4000, 37, 30)],
    "petals": [
        np.round(star(4)[[0, 3, 1, 4, 2]] + (3 * math.cos(k), 3 * math.sin(k)), 6)
        for k in range(40)
    ],
    "hairs": list(hair(1, 60)),
    "hairs both ways": [h[:: (-1) ** k] for k, h in enumerate(hair(2, 40))],
}


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("name", DRAWN)
def test_rows_across_result_and_contours_agree(name, rule):
    area = fill_contours(DRAWN[name], rule)
    assert area.is_valid
    assert worst_row(DRAWN[name], rule, area) < 1e-9


@pytest.mark.parametrize("name", DRAWN)
def test_the_same_contours_give_the_same_bytes(name):
    first, second = (fill_contours(DRAWN[name], "evenodd") for _ in range(2))
    assert first.wkb == second.wkb
    tops = [part.bounds[1] for part in first.geoms]
    assert tops == sorted(tops)


def lattice(rng):
    return [
        rng.integers(0, 7, (rng.integers(3, 12), 2)).astype(float)
        for _ in range(rng.integers(1, 5))
    ]


def random(rng):
    return [rng.uniform(0, 7, (rng.integers(3, 12), 2)).round(6) for _ in range(3)]


def noisy(rng):
    return [c + rng.uniform(-1e-6, 1e-6, c.shape).round(6) for c in lattice(rng)]


def copies(rng):
    ring = random(rng)[0]
    return [ring, ring + 1e-6, ring - (1e-6, 0)]


def turned_duplicates(rng):
    ring = lattice(rng)[0]
    cos, sin = math.cos(0.3), math.sin(0.3)
    ring = (ring @ np.array([(cos, sin), (-sin, cos)])).round(6)
    return [ring, np.roll(ring, 2, axis=0)[::-1], ring]


@pytest.mark.parametrize("kind", [lattice, random, noisy, copies, turned_duplicates])
def test_many_small_tangles(kind):
    rng = np.random.default_rng(7)
    for _ in range(150):
        contours = kind(rng)
        for rule in RULES:
            area = fill_contours(contours, rule)
            assert area.is_valid
            assert area_error(contours, rule, area, count=499) < 1e-9


@given(
    st.lists(
        st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=3, max_size=9),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from(RULES),
)
def test_any_tangle_on_a_lattice(contours, rule):
    rings = [np.array(contour, float) for contour in contours]
    area = fill_contours(rings, rule)
    assert area.is_valid
    assert area_error(rings, rule, area, count=499) < 1e-9


@pytest.mark.parametrize("failures", [1, 2], ids=["on the grid", "by Clipper"])
@pytest.mark.parametrize("rule", RULES)
def test_when_geos_refuses_the_answer_is_the_same(monkeypatch, failures, rule):
    union, calls = shapely.union_all, []

    def refuse(*given, **named):
        calls.append(named)
        if len(calls) <= failures:
            raise shapely.GEOSException("Iterated noding failed to converge")
        return union(*given, **named)

    wanted = [fill_contours(contours, rule) for contours in (DRAWN["hairs"], DRAWN["seed-head"])]
    monkeypatch.setattr(shapely, "union_all", refuse)
    for contours, right in zip((DRAWN["hairs"], DRAWN["seed-head"]), wanted, strict=True):
        calls.clear()
        area = fill_contours(contours, rule)
        assert (
            calls[:failures] == [{"grid_size": None}, {"grid_size": faces.FALLBACK_GRID}][:failures]
        )
        assert area.is_valid
        assert area.symmetric_difference(right).area < 2e-6 * right.length


@pytest.mark.parametrize("rule", ["nonzero", "evenodd", "positive", "twice"])
def test_turns_counted_in_portions_are_the_same(rule, monkeypatch):
    contours = [seed_head(900, 23, 30)]
    whole = fill_contours(contours, rule)
    monkeypatch.setattr(faces, "_MOST_CROSSINGS", 50)
    assert fill_contours(contours, rule).equals_exact(whole)


@pytest.mark.parametrize("fill", [faces.fill_arrangement, clipper.fill_paths])
def test_what_several_contours_wind_around_twice(fill):
    some = [square(0, 0, 4), square(2, 1, 4), square(3, 2, 1), square(9, 9, 1)]
    # by hand: 2 x 3 of the first two; the third lies in both
    assert fill(some, "twice").area == pytest.approx(6, abs=1e-9)
    assert fill(some[3:], "twice").is_empty


@pytest.mark.parametrize("fill", [faces.fill_arrangement, clipper.fill_paths])
def test_a_frame_takes_nothing_from_what_touches_the_rim_of_all(fill):
    same = [square(1, 1, 3)] * 3
    assert fill(same, "twice").symmetric_difference(box(1, 1, 4, 4)).area < 1e-9


def test_single_contours_filled_together_have_the_areas_of_each():
    leaf = np.array([(0, 0), (4, 1), (6, 0), (4, -1)], float)
    closed = np.add(np.concatenate((leaf, leaf[:1])), (10, 0))
    bow = np.array([(0, 0), (2, 2), (2, 0), (0, 2)], float)
    speck, flat = leaf[:2], np.array([(0, 0), (1, 0), (2, 0)], float)
    found = fill_single_contours([leaf, bow, closed, speck, flat, leaf[::-1]])
    assert [area is not None for area in found] == [True, False, True, False, False, True]
    # half the product of the diagonals of a kite: 6 * 2 / 2
    assert [area.area for area in found if area is not None] == pytest.approx([6.0, 6.0, 6.0])
    for contour, area in zip([leaf, closed], (found[0], found[2]), strict=True):
        assert shapely.equals_exact(area, fill_contours([contour], "nonzero"))


def test_no_contours_have_no_areas():
    assert fill_single_contours([]) == []
    assert fill_single_contours([np.empty((0, 2))]) == [None]
