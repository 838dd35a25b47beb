"""Cells, images, refusals and findings of the pass grey, and powers that even the heat out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiPolygon, box
from shapely.affinity import rotate

from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from preprocess.marking.evenness.objective import objective_of_artwork
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import layer_medians
from preprocess.marking.job.grey_rows import cells_of
from preprocess.marking.job.plan import plan_of
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference, Window
from preprocess.model.bench.machine import FirstRow, Grey, Machine
from preprocess.passes.grey.cell_grid import cell_grid, coverage, half_covered, lost_area
from preprocess.passes.grey.grey import GreyImages
from preprocess.passes.keep_only import KeepOnly
from preprocess.write.svg.shared_colours import share_colours
from tests.passes.benches import artwork, leaf, shape

CURVE = Grey(from_=0.05, to=0.95, gamma=1.0)
GALVO = Machine(turnaround=1.2e-3, fly_back=2500.0, layer_pause=0.3, grey=CURVE)
BENCH = Bench(machine=GALVO)
PANEL = shape("panel", box(5, 4, 15, 6.4))
LEAF = shape("leaf", leaf(15, 10, 8, 3, 0.3))
EVEN = GreyImages(solve=False)


def two_way(art, speed=400.0):
    def changed(layer):
        settings = {
            key: replace(s, direction=Direction.TWO_WAY, speed=speed)
            for key, s in layer.settings.items()
        }
        return replace(layer, settings=settings)

    return replace(art, layers=tuple(map(changed, art.layers)))


def run(made, *shapes, bench=BENCH, **more):
    art = two_way(artwork(shapes, **more))
    outcome = made(art, bench)
    assert imbalances(totals(art), outcome.changes, totals(outcome.artwork)) == ()
    return outcome


def codes(outcome):
    return [finding.code for finding in outcome.findings]


def test_a_panel_becomes_four_images_of_every_fourth_row():
    after = run(EVEN, PANEL).artwork
    assert [(s.level, s.round) for s in after.shapes] == [(1, 0), (2, 1), (3, 2), (4, 3)]
    firsts = [step.first for step in plan_of(after, GALVO).steps]
    assert firsts == pytest.approx([4.0, 4.2, 4.1, 4.3])  # rows 1, 3, 2, 4 of the edge at 4 mm
    for output in output_layers(after):
        assert output.settings.pitch == pytest.approx(0.4)
        # 50 % lies (0.50 - 0.05) / 0.90 up the curve: darkness 0.5, grey 127
        assert set(output.shapes[0].grey.greys) == {127}
    # 24 rows of 100 cells, each 0.1 × 0.1 mm
    assert sum(s.geometry.area for s in after.shapes) == pytest.approx(10 * 2.4)
    assert sum(s.grey.greys.count(127) for s in after.shapes) == 2400


def test_one_image_has_all_rows_and_no_level():
    (only,) = run(replace(EVEN, images=1), PANEL).artwork.shapes
    assert (only.level, only.round, only.grey.rows, only.grey.columns) == (None, None, 24, 100)
    assert only.geometry.area == pytest.approx(24.0)


def test_where_rows_lie_on_a_grid_of_the_page_images_keep_white_rows():
    bench = Bench(machine=replace(GALVO, first_row=FirstRow.PAGE))
    after = run(EVEN, shape("panel", box(5, 4.03, 15, 6.37)), bench=bench).artwork
    lit = [np.flatnonzero((cells_of(s.grey) < 255).any(axis=1)) for s in after.shapes]
    assert [rows[:2].tolist() for rows in lit] == [[0, 4], [2, 6], [1, 5], [3, 7]]
    for s in after.shapes:
        assert s.grey.cell == pytest.approx((0.1, 0.1))
        middle = s.grey.matrix[5] + 0.05
        assert middle / 0.1 == pytest.approx(round(middle / 0.1))


def test_a_cell_is_marked_where_half_of_it_is_drawn():
    # cells of 1 mm from 0 on: covered by 0.4, 1, 1, 0.6 along rows; by 0.3, 1, 0.55 across them
    area = MultiPolygon([box(0.6, 0.2 + 0.5, 3.6, 2.05)])
    grid = cell_grid(area, (0.0, 1.0), 1.0, FirstRow.PAGE, artwork([PANEL]).page)
    assert (grid.first, grid.rows, grid.left, grid.columns) == pytest.approx((1.0, 2, 0.0, 4))
    covered = coverage(area, grid)
    # row at 1 mm: 0.7 to 1.5 mm, 0.8 of it; row at 2 mm: 1.5 to 2.05 mm, 0.55 (9 of 16 lines)
    assert covered[0] == pytest.approx([0.4 * 0.8, 0.8, 0.8, 0.6 * 0.8], abs=0.6 / 16)
    assert covered[1] == pytest.approx([0.4 * 0.55, 0.55, 0.55, 0.6 * 0.55], abs=0.6 / 16)
    assert half_covered(np.array([0.49, 0.5, 0.51])).tolist() == [False, True, True]


def test_coverage_adds_up_to_the_area_at_any_angle():
    area = MultiPolygon([leaf(20, 15, 9, 3, 0.4)])
    for angle in (0.0, 30.0, 90.0):
        grid = cell_grid(area, (angle, 0.1), 0.08, FirstRow.HALF_PITCH, artwork([PANEL]).page)
        turned = rotate(area, angle, origin=(0, 0))
        last = grid.first + 0.1 * (grid.rows - 0.5)  # what lies below has no row
        drawn = turned.intersection(box(-99, grid.first - 0.05, 99, last)).area
        assert coverage(area, grid).sum() * 0.1 * 0.08 == pytest.approx(drawn, rel=1e-4)


def test_what_lies_beside_no_marked_cell_is_lost():
    covered = np.array([[1.0, 0.4, 0.0, 0.3], [0.0, 0.2, 0.0, 0.1]])
    grid = cell_grid(
        MultiPolygon([box(0, 0, 4, 2)]), (0.0, 1.0), 1.0, FirstRow.HALF_PITCH, artwork([PANEL]).page
    )
    assert lost_area(covered, half_covered(covered), grid) == pytest.approx(0.4)


def test_a_hairline_is_told():
    hair = shape("hair", box(15, 5, 25, 5.04))
    both = MultiPolygon([*PANEL.geometry.geoms, box(16, 5, 26, 5.03125)])
    outcome = run(EVEN, shape("panel", both))
    assert codes(outcome) == ["areas-as-greys", "thinner-than-a-cell"]
    assert "0.31 mm² of them are not marked" in outcome.findings[1].message
    for others in ((), (PANEL,)):
        with pytest.raises(Refusal, match="no cell of 'stems' is drawn to one half"):
            run(EVEN, *others, replace(hair, layer="stems"))


@pytest.mark.parametrize(
    ("bench", "changed", "words"),
    [
        (Bench(), {}, "no grey"),
        (Bench(machine=replace(GALVO, grey=replace(CURVE, to=0.4))), {}, "50 %, but greys give"),
        (BENCH, {"level": 2}, "cut into levels"),
        (BENCH, {"round": 1}, "cut into levels"),
        (BENCH, {"bars": MultiPolygon([box(17, 4, 19, 6)])}, "bars beside"),
    ],
)
def test_what_cannot_become_greys_is_refused(bench, changed, words):
    with pytest.raises(Refusal, match=words):
        run(EVEN, replace(PANEL, **changed), bench=bench)


def test_too_many_cells_are_refused():
    with pytest.raises(Refusal, match="million"):
        run(EVEN, shape("panel", box(0, 0, 50, 30)), pitch=0.005)


def test_a_second_run_changes_nothing():
    once = run(EVEN, PANEL).artwork
    again = EVEN(once, BENCH)
    assert again.artwork == once
    assert codes(again) == ["greys-already"]


def test_images_of_equal_settings_stay_apart():
    after = run(EVEN, PANEL).artwork
    assert share_colours(after)[0] is after


def test_no_rows_no_images():
    art = replace(artwork([PANEL]), shapes=())
    assert [f.code for f in EVEN(art, BENCH).findings] == ["no-rows"]


@pytest.fixture(scope="module")
def solved():
    return run(GreyImages(images=4), LEAF)


def test_solved_greys_are_more_even_than_even_ones(solved):
    even = run(replace(EVEN, images=4), LEAF)
    was, now = (objective_of_artwork(o.artwork, BENCH) for o in (even, solved))
    assert now.likely.off < 0.5 * was.likely.off
    assert now.worst.off <= was.worst.off
    assert codes(solved) == ["areas-as-greys", "evenness"]


def test_the_mean_power_of_ungraded_greys_stays(solved):
    powers = [step.grey.power[step.grey.power > 0] for step in plan_of(solved.artwork, GALVO).steps]
    logs = np.log(np.concatenate(powers))
    assert np.exp(logs.mean()) == pytest.approx(0.5, rel=0.005)


def test_a_graded_filament_comes_to_index_1():
    filament = Filament(
        name="moss", polymer="PLA", spread=0.3, window=Window(), optical_depth=0.05, absorbed=0.9,
        reference=Reference(size=(8, 8), power=0.5, speed=400.0, pitch=0.1),
    )  # fmt: skip
    bench = replace(BENCH, filament=filament)
    outcome = run(GreyImages(images=4), LEAF, bench=bench)
    medians = layer_medians(heat_index(outcome.artwork, bench))
    assert len(medians) == 4
    assert list(medians.values()) == pytest.approx([1.0] * 4, abs=0.03)


def test_even_greys_keep_the_power_of_the_layer_on_a_graded_filament_too():
    filament = Filament(
        name="moss", polymer="PLA", window=Window(), spread=0.3,
        reference=Reference(size=(8, 8), power=0.2, speed=400.0, pitch=0.1),
    )  # fmt: skip
    after = run(EVEN, PANEL, bench=replace(BENCH, filament=filament)).artwork
    assert {grey for s in after.shapes for grey in s.grey.greys} == {127}


def test_cells_beyond_the_curve_are_told():
    narrow = Bench(machine=replace(GALVO, grey=Grey(from_=0.49, to=0.505, gamma=1.0)))
    outcome = run(GreyImages(images=4), LEAF, bench=narrow)
    assert codes(outcome) == ["areas-as-greys", "beyond-the-greys", "evenness"]


def test_images_are_kept_whole_or_not_at_all_by_keep_only():
    seed = replace(shape("seed", box(20, 4, 24, 6)), layer="seeds")
    after = run(EVEN, PANEL, seed).artwork
    kept = KeepOnly(only=Selection(select="#seed"))(_chosen(after, "#seed"), BENCH).artwork
    assert {s.layer for s in kept.shapes} == {"seeds"}
    assert len(kept.shapes) == 4
    both = run(EVEN, PANEL, shape("seed", box(20, 4, 24, 6))).artwork
    with pytest.raises(Refusal, match="an image of several elements"):
        KeepOnly(only=Selection(select="#seed"))(_chosen(both, "#seed"), BENCH)


def _chosen(art, selector):
    """Sources as the reader leaves them: each knows the selectors of the recipe that match it."""
    return replace(
        art,
        shapes=tuple(
            replace(
                s,
                sources=tuple(
                    replace(one, selectors=frozenset({f"#{one.id}"} & {selector}))
                    for one in s.sources
                ),
            )
            for s in art.shapes
        ),
    )
