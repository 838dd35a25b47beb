"""Strips in the written file, swept by code of its own under each rule of the machine."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, box
from shapely.affinity import translate

from preprocess.engine.ledger import imbalances, totals
from preprocess.model.artwork.output import output_layers
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import FirstRow, Machine, RasterGroups
from preprocess.passes.interleave.interleave import Interleave
from preprocess.write.svg.svg_document import svg_bytes
from tests.passes.benches import artwork, leaf, shape, turned

SVG = "{http://www.w3.org/2000/svg}"
INSIDE = 5e-5
"""mm below its place at which a row is looked up: rows on an upper edge are lit, on a lower not."""

SAME = 4e-4
"""mm within which rows of two sets are one row: what the written grid can move them."""

GRAZED = 5e-3
"""mm of a row that only touches a tip: no light."""

BLADE = leaf(20, 20, 30, 6, turn=1.1)
ARTS = {
    "blade": [BLADE],
    "tail": [box(10, 5, 22, 17), box(15.5, 17, 16.5, 31)],
    "teeth": [box(4, 20, 34, 22), *(box(x, 6, x + 1.5, 20.03) for x in range(4, 33, 3))],
    "dots": [Point(8 + 4 * i, 10 + 2.313 * i).buffer(0.11 + 0.13 * i) for i in range(7)],
    "ring": [Point(20, 20).buffer(9).difference(Point(20, 20).buffer(7.5))],
    "letters": [
        box(5, 10, 6.2, 17.97),
        box(6.2, 13.3, 9, 14.4),
        box(9, 10, 10.2, 17.97),
        Point(14, 9.1).buffer(0.31),
        box(13.6, 11.02, 14.4, 17.97),
    ],
    "apart": [box(5, 5, 9, 5.15), translate(BLADE, 0, 1.037)],
}


def interleaved(drawn, angle=0.0, pitch=0.1, bench=None, decimals=4, **options):
    """Drawing and interleaved artwork."""
    art = artwork([shape(f"a{i}", g) for i, g in enumerate(drawn)], angle=angle, pitch=pitch)
    art = replace(art, drawing=replace(art.drawing, decimals=decimals))
    outcome = Interleave(**options)(art, bench or Bench())
    assert imbalances(totals(art), outcome.changes, totals(outcome.artwork)) == ()
    return art, outcome.artwork


def machine(rule, groups=RasterGroups.EACH_COLOUR):
    return Bench(machine=Machine(first_row=rule, raster_groups=groups))


def written_sets(art, groups):
    """Rings of each set of areas that the software sweeps together, from the written bytes."""
    ids = [output.id for output in output_layers(art)]
    data = svg_bytes(art, colours={one: f"#{n:06x}" for n, one in enumerate(ids)})
    found = []
    for layer in ET.fromstring(data).iter(f"{SVG}g"):
        paths = [
            [
                np.array(re.findall(r"-?[\d.]+", text), dtype=float).reshape(-1, 2)
                for text in re.findall("M[^M]+", path.get("d"))
            ]
            for path in layer.iter(f"{SVG}path")
        ]
        found += (
            [[ring for path in paths for ring in path]]
            if groups is RasterGroups.EACH_COLOUR
            else paths
        )
    return found


def swept(rings, angle, pitch, rule):
    """Rows of one set by the rule: their v, and the runs of each, by crossing the edges."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    edges = []
    for ring in rings:
        uv = ring @ np.array([[c, s], [-s, c]])
        edges.append(np.hstack([uv, np.roll(uv, -1, axis=0)]))
    u0, v0, u1, v1 = np.concatenate(edges).T
    top, bottom = min(v0.min(), v1.min()), max(v0.max(), v1.max())
    first = {
        "edge": top,
        "half-pitch": top + pitch / 2,
        "page": math.ceil(top / pitch - 1e-6) * pitch,
    }
    rows = []
    for n in range(int((bottom - first[rule]) / pitch) + 2):
        v = first[rule] + n * pitch
        at = v + INSIDE
        cross = (v0 > at) != (v1 > at)
        u = np.sort(u0[cross] + (at - v0[cross]) / (v1 - v0)[cross] * (u1 - u0)[cross])
        runs = u.reshape(-1, 2)
        runs = runs[runs[:, 1] - runs[:, 0] > GRAZED]
        if len(runs):
            rows.append((v, runs))
    return rows


def joined(runs):
    """Runs of a row that touch at the seams of the drawing, as one."""
    found = [runs[0].copy()]
    for start, end in runs[1:]:
        if start - found[-1][1] < 1e-3:
            found[-1][1] = end
        else:
            found.append(np.array([start, end]))
    return np.array(found)


def rows_together(rows):
    """Rows of all sets; what two sets light of one row must not overlap."""
    found = []
    for v, runs in sorted(rows, key=lambda row: row[0]):
        if found and v - found[-1][0] < SAME:
            both = np.concatenate([found[-1][1], runs])
            both = both[np.argsort(both[:, 0])]
            assert (both[1:, 0] - both[:-1, 1]).min() > -2e-4, v
            found[-1] = found[-1][0], both
        else:
            found.append((v, runs))
    return found


def expect_each_row_once(art, after, angle, pitch, rule, groups):
    whole = replace(
        art.shapes[0],
        geometry=MultiPolygon(
            [*shapely.get_parts(shapely.unary_union([s.geometry for s in art.shapes]))]
        ),
    )
    outline = turned(whole.geometry, angle).boundary
    (drawn,) = written_sets(replace(art, shapes=(whole,)), groups)
    wanted = swept(drawn, angle, pitch, rule)
    found = rows_together(
        [row for rings in written_sets(after, groups) for row in swept(rings, angle, pitch, rule)]
    )
    assert len(found) == len(wanted)
    for (v, runs), (place, whole_runs) in zip(found, wanted, strict=True):
        assert v == pytest.approx(place, abs=2e-4)
        one, other = joined(runs), joined(whole_runs)
        assert len(one) == len(other), v
        assert one == pytest.approx(other, abs=0.5), v
        ends = shapely.points(one.ravel(), v)
        assert shapely.distance(ends, outline).max() < 4 * 10.0**-art.drawing.decimals, v


@pytest.mark.parametrize("groups", RasterGroups)
@pytest.mark.parametrize("rule", FirstRow)
@pytest.mark.parametrize("name", ARTS)
def test_each_row_is_marked_once_and_nothing_else(name, rule, groups):
    art, after = interleaved(ARTS[name], bench=machine(rule, groups))
    expect_each_row_once(art, after, 0.0, 0.1, rule, groups)


@pytest.mark.parametrize("sweeps", FirstRow)
@pytest.mark.parametrize("told", FirstRow)
@pytest.mark.parametrize("name", ["blade", "teeth", "letters"])
def test_software_that_begins_its_rows_by_another_rule_marks_each_row_once(name, told, sweeps):
    art, after = interleaved(ARTS[name], bench=machine(told))
    expect_each_row_once(art, after, 0.0, 0.1, sweeps, RasterGroups.EACH_COLOUR)


def missing_and_double(art, after, rule):
    """Share of the length of page's rows that another rule leaves out or marks twice."""
    (drawn,) = written_sets(art, RasterGroups.EACH_PATH)
    wanted = sum(np.ptp(runs, axis=1).sum() for _, runs in swept(drawn, 0.0, 0.1, "page"))
    places: dict[int, list] = {}
    for rings in written_sets(after, RasterGroups.EACH_COLOUR):
        for v, runs in swept(rings, 0.0, 0.1, rule):
            places.setdefault(round(v / 0.1), []).extend(shapely.box(a, 0, b, 1) for a, b in runs)
    once = sum(shapely.unary_union(boxes).area for boxes in places.values())
    every = sum(box.area for boxes in places.values() for box in boxes)
    return (wanted - once) / wanted, (every - once) / wanted


def test_what_a_wrong_rule_loses_is_told():
    """An upper edge so little below a multiple of the pitch that only page's own strips fit."""
    block = box(10, 10.0004, 20, 12.4)
    art = artwork([shape("a", block)])
    outcome = Interleave()(art, machine(FirstRow.PAGE))
    told = next(f for f in outcome.findings if f.code == "strips-need-first-row")
    assert "strips of fronds fit first_row: page" in told.message
    assert "% of the rows by first_row: edge" in told.message
    assert "half-pitch" not in told.message
    missing, double = missing_and_double(art, outcome.artwork, "edge")
    assert missing + double > 0.2
    assert sum(missing_and_double(art, outcome.artwork, "half-pitch")) < 0.02
    assert sum(missing_and_double(art, outcome.artwork, "page")) < 0.02


def test_nothing_is_told_where_every_rule_fits():
    for rule in FirstRow:
        outcome = Interleave()(artwork([shape("a", BLADE)]), machine(rule))
        assert "strips-need-first-row" not in [f.code for f in outcome.findings]


@pytest.mark.parametrize("rule", FirstRow)
@pytest.mark.parametrize(
    ("angle", "pitch"), [(37.0, 0.1), (90.0, 0.05), (0.0, 254 / 3000), (-20.5, 0.15)]
)
def test_at_other_angles_and_pitches_too(angle, pitch, rule):
    art, after = interleaved([BLADE, Point(9, 9).buffer(1)], angle, pitch, machine(rule))
    expect_each_row_once(art, after, angle, pitch, rule, RasterGroups.EACH_COLOUR)


@pytest.mark.parametrize("rule", FirstRow)
def test_with_few_decimals_no_row_is_lost(rule):
    art, after = interleaved([BLADE], pitch=0.1, bench=machine(rule), decimals=3)
    expect_each_row_once(art, after, 0.0, 0.1, rule, RasterGroups.EACH_COLOUR)


@pytest.mark.parametrize("rule", FirstRow)
def test_the_sets_tile_the_area(rule):
    art, after = interleaved(ARTS["teeth"], bench=machine(rule))
    drawn = shapely.unary_union([s.geometry for s in art.shapes])
    sets = [s.geometry for s in after.shapes]
    assert all(one.is_valid for one in sets)
    assert sum(one.area for one in sets) <= drawn.area + 1e-9
    for i, one in enumerate(sets):
        for other in sets[:i]:
            assert one.intersection(other).area < 1e-9
    assert sum(one.area for one in sets) == pytest.approx(drawn.area, abs=1e-7)


def test_rows_of_rounds_are_those_that_bit_reversal_gives():
    _, after = interleaved([box(10, 10, 20, 12.4)], bench=machine(FirstRow.EDGE))
    lit = [swept(one, 0.0, 0.1, "edge") for one in written_sets(after, RasterGroups.EACH_COLOUR)]
    begins = [round((rows[0][0] - 10) / 0.1, 2) for rows in lit]
    assert begins == [0, 2, 1, 3]
    assert [s.round for s in after.shapes] == [0, 1, 2, 3]
    assert [s.level for s in after.shapes] == [1, 2, 3, 4]


def test_bars_are_cut_into_the_same_rounds():
    bar = MultiPolygon([box(25, 10.003, 29, 14)])
    one = replace(shape("a", box(10, 10, 20, 14)), bars=bar)
    art = artwork([one])
    outcome = Interleave()(art, machine(FirstRow.EDGE))
    assert imbalances(totals(art), outcome.changes, totals(outcome.artwork)) == ()
    for round_ in outcome.artwork.shapes:
        alone = [replace(round_, bars=None), replace(round_, geometry=round_.bars, bars=None)]
        tops = [
            np.round([(p.bounds[3] - 10) / 0.1 for p in one.geometry.geoms if p.area > 0.02])
            for one in alone
        ]
        assert set(tops[0]) == set(tops[1])
    rings = written_sets(outcome.artwork, RasterGroups.EACH_COLOUR)
    found = sorted(v for one in rings for v, _ in swept(one, 0.0, 0.1, FirstRow.EDGE))
    assert found == pytest.approx([10 + n / 10 for n in range(40)], abs=2e-4)


def test_a_drawing_of_fewer_rows_than_rounds_keeps_each_row():
    for rule in FirstRow:
        art, after = interleaved([box(10, 10.01, 20, 10.21)], bench=machine(rule))
        expect_each_row_once(art, after, 0.0, 0.1, rule, RasterGroups.EACH_COLOUR)
