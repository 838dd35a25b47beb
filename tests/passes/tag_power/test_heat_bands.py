"""tag-power by heat: zones follow the predicted index, whatever the rows look like."""

import dataclasses

import numpy as np
import pytest
from shapely import box

from preprocess.errors import Refusal
from preprocess.marking.heat.index import heat_index
from preprocess.marking.job.plan import plan_of
from preprocess.model.bench.bench import Bench
from preprocess.passes.tag_power.heat_bands import FIRST, LAST, coolness_by_row, images_by_group
from preprocess.passes.tag_power.tag_power import PowerBy, TagPower
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape, triangle
from tests.marking.struck import GALVO

BENCH = Bench(machine=dataclasses.replace(GALVO, spot=0.08))
TAG = TagPower(by=PowerBy.HEAT, levels=2)


def measured(art):
    steps = list(enumerate(plan_of(art, GALVO).steps))
    return coolness_by_row([group for _, group in steps], images_by_group(steps, art, BENCH))


def test_rows_are_valued_by_one_over_a_running_mean_of_their_median_index():
    art = artwork(shape(triangle(width=18, height=12)))
    (found,) = measured(art)
    (patch,) = heat_index(art, BENCH).images
    index = [np.median(row[lit]) for row, lit in zip(patch.index, patch.lit, strict=True)]
    assert len(found.row) == patch.lit.any(axis=1).sum() > 100
    assert 1 / found.value[60] == pytest.approx(np.mean(index[54:67]), rel=1e-6)


def test_first_and_last_rows_go_with_those_beside_them():
    (found,) = measured(artwork(shape(triangle(width=18, height=12))))
    assert len(set(found.value[: FIRST + 1])) == 1
    assert len(set(found.value[-LAST - 1 :])) == 1
    assert found.value[0] > found.value[-1]


def test_a_solid_whose_rows_start_cold_is_one_level():
    out = TAG(artwork(shape(box(0, 0, 10, 8))), BENCH)
    assert [f.code for f in out.findings] == ["one-level"]
    assert "rows of artwork get equally hot" in out.findings[0].message


def test_few_rows_have_one_value_their_median():
    art = artwork(shape(box(0, 0, 10, (FIRST + LAST) / 10)))
    (found,) = measured(art)
    (patch,) = heat_index(art, BENCH).images
    rows = [np.median(row[lit]) for row, lit in zip(patch.index, patch.lit, strict=True)]
    assert found.value == pytest.approx([1 / np.median(rows)] * (FIRST + LAST))


def test_a_neighbour_marked_just_before_makes_a_level_where_rows_are_all_alike():
    """The lower half of a strip lies between beds that were marked just before it."""
    strip = shape(box(10, 0, 12, 16), name="strip")
    beds = area_of(box(5, 8, 9.95, 16), box(12.05, 8, 17, 16))
    alone = TAG(artwork(strip), BENCH)
    assert alone.findings[0].code == "one-level"
    warmed = artwork(shape(beds, "beds", name="beds"), shape(box(10, 0, 12, 16), name="strip"))
    (_, found) = measured(warmed)
    (plain,) = measured(artwork(strip))
    v = found.row * 0.1
    assert (found.value / plain.value)[v > 10].max() < 0.99
    assert (found.value / plain.value)[v < 6].min() > 0.99


def test_levels_part_at_equal_steps_of_the_index():
    out = TagPower(by=PowerBy.HEAT, levels=3)(artwork(shape(triangle())), BENCH)
    text = out.findings[0].message
    limits = [float(n) for n in text.split("indices of ")[1].split(";")[0].split(", ")]
    (rows,) = measured(artwork(shape(triangle())))
    least, most = (1 / rows.value).min(), (1 / rows.value).max()
    assert limits == pytest.approx(
        [least * (most / least) ** (1 / 3), least * (most / least) ** (2 / 3)], abs=0.006
    )


def test_zones_are_whole_rows_and_tile_the_area():
    art = artwork(shape(triangle()))
    out = TAG(art, BENCH).artwork
    assert sum(s.geometry.area for s in out.shapes) == pytest.approx(triangle().area, rel=1e-12)
    top = out.shapes[1].geometry.bounds[1]
    assert top / 0.1 == pytest.approx(round(top / 0.1), abs=1e-6)


def test_without_a_speed_it_says_what_to_add():
    art = artwork(shape(triangle()), settings=dataclasses.replace(ENGRAVED, speed=None))
    with pytest.raises(Refusal, match="has no speed"):
        TAG(art, BENCH)
