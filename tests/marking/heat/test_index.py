"""The index itself: what it is relative to, its figures, its trust and its span."""

import dataclasses

import numpy as np
import pytest
import shapely
from shapely import MultiLineString, box

from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.heat_findings import heat_findings
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.index_images import lit_values, weighted_quantile
from preprocess.marking.heat.layer_power import layer_powers
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.settings import Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference, Window
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape, square, triangle

GALVO = Machine(turnaround=1.2e-3, fly_back=2500.0, spot=0.08, rated_power=6.0)
PLA = Filament(
    name="matt green",
    conductivity=0.15,
    density=1.24,
    heat_capacity=1.8,
    optical_depth=0.05,
    spread=0.3,
    reference=Reference(),
    window=Window(weak=0.8, heavy=1.15),
)
LIKE_REFERENCE = dataclasses.replace(ENGRAVED, power=0.5, speed=900.0, pitch=0.1)


def bench(filament=PLA, *, machine=GALVO, parts=()):
    return Bench(machine=machine, filament=filament, parts=parts)


def predicted(*shapes, settings=LIKE_REFERENCE, on=None, parts=(), **how):
    art = artwork(*shapes, settings=settings, parts=parts)
    return heat_index(art, on or bench(), **how)


def test_the_reference_patch_has_index_one():
    found = predicted(shape(square(20, 30, 8)))
    assert found.median == pytest.approx(1.0, rel=1e-3)
    assert found.trust == ""
    assert found.assumed == ()


@pytest.mark.parametrize("power", [0.25, 0.8])
def test_the_index_grows_in_proportion_to_power(power):
    settings = dataclasses.replace(LIKE_REFERENCE, power=power)
    found = predicted(shape(square(0, 0, 8)), settings=settings)
    assert found.median == pytest.approx(power / 0.5, rel=1e-3)


def test_rated_power_and_absorption_cancel():
    other = dataclasses.replace(GALVO, rated_power=20.0)
    filament = dataclasses.replace(PLA, absorbed=0.1)
    one = predicted(shape(triangle(width=8, height=10)))
    two = predicted(shape(triangle(width=8, height=10)), on=bench(filament, machine=other))
    assert one.largest == pytest.approx(two.largest, rel=1e-6)


def test_the_speed_correction_is_a_power_of_the_speed():
    settings = dataclasses.replace(LIKE_REFERENCE, speed=450.0)
    corrected = dataclasses.replace(PLA, speed_correction=0.3)
    plain = predicted(shape(square(0, 0, 8)), settings=settings)
    found = predicted(shape(square(0, 0, 8)), settings=settings, on=bench(corrected))
    assert found.median == pytest.approx(plain.median * 0.5**0.3, rel=1e-9)


def test_figures_are_weighted_by_area():
    found = predicted(shape(triangle()))
    index, weight = lit_values(found.images)
    # half of 36 × 50 mm, and the first of rows 0.1 mm apart stands for half its pitch too much
    assert weight.sum() == pytest.approx(900.0 + 36 * 0.05, rel=1e-6)
    order = np.argsort(index)
    upto = np.cumsum(weight[order])
    assert found.median == index[order][np.searchsorted(upto, 0.5 * upto[-1])]
    assert found.p95 == index[order][np.searchsorted(upto, 0.95 * upto[-1])]
    mean = np.average(index, weights=weight)
    spread = np.sqrt(np.average((index - mean) ** 2, weights=weight))
    assert found.cv == pytest.approx(spread / mean, rel=1e-9)
    assert found.too_heavy == pytest.approx(weight[index > 1.15].sum() / weight.sum(), abs=1e-9)
    assert found.too_weak == pytest.approx(weight[index < 0.8].sum() / weight.sum(), abs=1e-9)
    assert found.largest == index.max()


def test_a_weighted_quantile_is_that_of_repeated_values():
    value, weight = np.array([3.0, 1.0, 2.0]), np.array([1.0, 2.0, 7.0])
    repeated = np.repeat(value, weight.astype(int))
    for share in (0.1, 0.5, 0.85, 0.95):
        wanted = np.quantile(repeated, share, method="inverted_cdf")
        assert weighted_quantile(value, weight, share) == wanted
    assert weighted_quantile(np.empty(0), np.empty(0), 0.5) == 0.0


def test_points_of_a_patch_lie_on_the_artwork_at_any_angle():
    leaf = square(10, 20, 4)
    settings = dataclasses.replace(LIKE_REFERENCE, angle=30.0)
    (patch,) = predicted(shape(leaf), settings=settings).images
    x, y = patch.points
    inside = shapely.contains_xy(leaf.buffer(0.06), x[patch.lit], y[patch.lit])
    assert inside.all()
    assert patch.areas.sum() == pytest.approx(16.0, rel=0.03)


def test_where_nothing_is_lit_there_is_no_index():
    (patch,) = predicted(shape(area_of(square(0, 0, 2), square(5, 0, 2)))).images
    assert np.isnan(patch.index[~patch.lit]).all()
    assert np.isfinite(patch.index[patch.lit]).all()


def test_without_a_filament_every_output_says_so():
    found = predicted(shape(square(0, 0, 4)), on=bench(None))
    assert found.trust == "uncalibrated: ranking only"
    assert any("conductivity of PLA" in text for text in found.assumed)
    assert any("spread" in text for text in found.assumed)
    bare = predicted(shape(square(0, 0, 4)), on=Bench())
    assert any("turnaround" in text for text in bare.assumed)


def test_a_polymer_gives_its_own_defaults():
    petg = Filament(name="clear", polymer="PETG")
    found = predicted(shape(square(0, 0, 4)), on=bench(petg))
    assert any("PETG" in text for text in found.assumed)


def test_the_span_holds_the_largest_index_and_is_wider_without_grades():
    tapering = shape(triangle(width=20, height=10))
    graded = predicted(tapering, uncertainty=True)
    unknown = predicted(tapering, on=bench(Filament(name="x")), uncertainty=True)
    for found in (graded, unknown):
        low, high = found.span
        assert low <= found.largest <= high
        assert low < high
    widths = [high / low for low, high in (graded.span, unknown.span)]
    assert widths[1] > widths[0]
    assert predicted(tapering).span is None


def test_a_preview_is_near_the_full_answer():
    full, quick = (predicted(shape(triangle()), effort=e) for e in (Effort.FULL, Effort.PREVIEW))
    assert quick.median == pytest.approx(full.median, rel=0.01)
    assert quick.p95 == pytest.approx(full.p95, rel=0.02)
    assert quick.images[0].u.size < full.images[0].u.size / 3


def test_layers_that_cannot_be_computed_are_named():
    art = [shape(square(0, 0, 4), "one"), shape(square(5, 0, 4), "two")]
    found = predicted(*art, settings={"one": LIKE_REFERENCE, "two": Settings()})
    assert found.unknown == ("two",)
    assert {patch.output for patch in found.images} == {"one"}


def test_a_layer_without_power_is_taken_at_full_power_and_said_so():
    open_ = dataclasses.replace(LIKE_REFERENCE, power=None)
    full = dataclasses.replace(LIKE_REFERENCE, power=1.0)
    found = predicted(shape(square(0, 0, 4)), settings=open_)
    assert found.assumed == ("power of artwork: 100 %",)
    assert found.largest == predicted(shape(square(0, 0, 4)), settings=full).largest


def test_lines_and_empty_artwork_have_no_index():
    line = MultiLineString([[(0, 0), (5, 5)]])
    found = predicted(shape(line))
    assert found.images == ()
    assert (found.largest, found.median, found.cv) == (0.0, 0.0, 0.0)
    assert predicted().images == ()


def test_repeats_show_the_hottest_of_them():
    once = predicted(shape(square(0, 0, 6)))
    thrice = predicted(
        shape(square(0, 0, 6)), settings=dataclasses.replace(LIKE_REFERENCE, repeats=3)
    )
    assert len(thrice.images) == 1
    assert thrice.largest > once.largest


def test_parts_carry_their_own_thickness():
    parts = [area_of(box(0, 0, 10, 10)), area_of(box(12, 0, 22, 10))]
    leaves = [shape(square(1, 1, 6), name="a"), shape(square(13, 1, 6), name="b")]
    known = (Part(outline="#one", thickness=0.4), Part(outline="#two"))
    settings = dataclasses.replace(LIKE_REFERENCE, repeats=4)
    found = predicted(*leaves, settings=settings, parts=parts, on=bench(parts=known))
    thin, thick = found.images
    assert (thin.part, thick.part) == (0, 1)
    assert np.nanmax(thin.index) > 1.03 * np.nanmax(thick.index)


def test_the_spike_of_the_reference_is_one_and_falls_with_power():
    settings = dataclasses.replace(LIKE_REFERENCE, power=0.25)
    (patch,) = predicted(shape(square(0, 0, 8)), settings=settings).images
    assert np.nanmedian(patch.spike) == pytest.approx(0.5, rel=1e-3)
    assert np.nanmax(patch.residual) < 0.2


def test_a_point_struck_by_two_layers_keeps_what_the_first_left():
    twice = [shape(square(0, 0, 6), "one"), shape(square(2, 2, 2), "two")]
    found = predicted(*twice)
    alone = predicted(shape(square(2, 2, 2), "two"))
    assert np.nanmedian(found.images[1].index) > 1.02 * np.nanmedian(alone.images[0].index)


def test_the_same_artwork_gives_the_same_numbers():
    one, two = (predicted(shape(triangle(width=40, height=8))) for _ in range(2))
    assert np.array_equal(one.images[0].index, two.images[0].index, equal_nan=True)


def test_a_large_job_is_computed_in_wider_columns_and_says_so(monkeypatch):
    art = artwork(shape(triangle(width=12, height=16)), settings=LIKE_REFERENCE)
    fine = heat_index(art, bench())
    assert fine.wide_columns is None
    monkeypatch.setattr("preprocess.marking.heat.effort.LARGE", 6400.0)  # it has 9600 lit cells
    wide = heat_index(art, bench())
    assert wide.wide_columns == pytest.approx(0.1 * 9600 / 6400, rel=0.01)
    assert (wide.median, wide.p95) == pytest.approx((fine.median, fine.p95), rel=0.02)
    planned = plan_of(art, GALVO)
    timed = schedule_of(planned, GALVO)
    powers = layer_powers(wide, planned, timed, art, bench())
    told = heat_findings(wide, planned, timed, powers)
    assert [f.message for f in told if f.code == "coarser-heat"] == [
        "the job is large, so the heat index is computed in columns of 0.15 mm"
    ]
    monkeypatch.setattr("preprocess.marking.heat.effort.LARGE", 10.0)
    assert heat_index(art, bench()).wide_columns == pytest.approx(0.2)
