"""The index of a written file, read back, against a calculation that shares nothing with it.

The job is two blocks on a part of 40 × 30 mm: 20 rows of 24 mm, then 20 rows of 2 mm, each a level
with its power, and bars beside the part. Rows, times and kernel are written down here by hand.
"""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.special import erf, erfcx

from preprocess.marking.prediction import predict
from preprocess.model.artwork.output import output_layers
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.marking.moving import run_rise

NS = "http://www.w3.org/2000/svg"
DRAWING = f"""<svg xmlns="{NS}" width="60mm" height="40mm" viewBox="0 0 60 40">
  <path id="trowel" d="M18 8 H42 V10 H31 V12 H29 V10 H18 Z"/>
</svg>""".encode()

BENCH = """recipe: 1
machine: {name: bench, field: [110 mm, 110 mm], spot: 0.08 mm, rated_power: 1.5 W,
  turnaround: 1.2 ms, fly_back: 2500 mm/s, layer_pause: 0.05 s}
filament: {name: moss, conductivity: 0.15 W/m/K, density: 1.24 g/cm3, heat_capacity: 1.8 J/g/K,
  optical_depth: 0.05 mm, spread: 0.3 mm, absorbed: 60 %}
part: {outline: [40 mm, 30 mm]}
settings:
  engrave: {power: 50 %, speed: 300 mm/s, pitch: 0.1 mm, direction: DIRECTION, angle: 0 deg}
"""

WRITE = """passes:
  - merge
  - tag-power: {by: row-span, levels: 2, powers: [100 %, 80 %]}
  - equalize-width: {clearance: 2 mm, bar: 0.6 mm}
"""

READ = """layers:
  - {name: first, operation: engrave, choose: {colour: "#0072b2"}, settings: {power: 50 %}}
  - {name: second, operation: engrave, choose: {colour: "#d55e00"}, settings: {power: 40 %}}
passes: []
"""
"""What a person types into the laser software: one power to each colour, and no pass at all."""

WIDE, TIP = (18.0, 42.0, 8.0), (29.0, 31.0, 10.0)
"""Left, right and first row of the 20 rows of each block, mm."""

BARS = 30 - (20 + 2 + 1.5e-4 + 0.6), 30 + (20 + 2 + 1.5e-4 + 0.6)
"""Outer edges of the bars: beside the part at 10 and 50 mm, 1.5 steps of the written grid more."""


def index_at(data, direction, points):
    """The index of a written file at points of its page."""
    loaded = load_recipe(None, BENCH.replace("DIRECTION", direction) + READ)
    result = convert(loaded, data, "trowel.laser.svg")
    found = predict(result.after, result.bench, surely=False).heat
    return [nearest(found.images, *point) for point in points]


def nearest(patches, x, y):
    """The cell nearest to a point: its index and where exactly it lies."""
    best = None
    for patch in patches:
        us, vs = patch.points
        away = np.where(patch.lit, np.hypot(us - x, vs - y), np.inf)
        cell = np.unravel_index(away.argmin(), away.shape)
        if best is None or away[cell] < best[0]:
            best = away[cell], patch.index[cell], (us[cell], vs[cell])
    assert best[0] < 0.1
    return best[1:]


def rows_by_hand(order, direction, *, bars):
    """(when the beam enters the artwork, left, right, y, forward, watts) of each row, by hand."""
    found, clock, left_at = [], 0.0, None
    for (left, right, top), power in order:
        start, end = BARS if bars else (left, right)
        long = end - start
        if left_at is not None:
            hop = math.hypot(start - left_at[0], top - left_at[1]) / 2500
            clock += 0.05 + 1.2e-3 + hop
        for number in range(20):
            forward = direction == "one-way" or number % 2 == 0
            entered = clock + ((left - start) if forward else (end - right)) / 300
            found.append((entered, left, right, top + 0.1 * number, forward, 0.9 * power))
            clock += long / 300
            left_at = (end if forward else start, top + 0.1 * number)
            if number < 19:
                clock += 1.2e-3 + (long / 2500 if direction == "one-way" else 0.0)
    return found


def passing(row, x):
    """When the beam is where a row comes nearest to x."""
    entered, left, right, _, forward, _ = row
    near = min(max(x, left), right)
    return entered + ((near - left) if forward else (right - near)) / 300


LATELY = 4e-3
"""s after a passage, from which a row counts as exposed at once: 60 times what 0.02 mm take."""


def kelvin(rows, point, when):
    """Rise at a point at given times: rows as finite lines, by Carslaw and Jaeger, ch. X.

    A row that the beam has only just passed is the sum over the beam's way.
    """
    (x, y), total = point, np.zeros(len(when))
    capacity = 1.24e-3 * 1.8
    alpha = 0.15e-3 / capacity
    for struck in rows:
        _, left, right, row, forward, watts = struck
        tau = when - passing(struck, x)
        lit = np.maximum(tau, 1e-12)
        along = 0.02**2 + 2 * alpha * lit
        across = along + 0.3**2 / 12
        deep = erfcx(np.sqrt(alpha * lit) / 0.05) / 0.05
        share = erf((x - left) / np.sqrt(2 * along)) - erf((x - right) / np.sqrt(2 * along))
        line = np.exp(-((y - row) ** 2) / (2 * across)) / np.sqrt(2 * np.pi * across) * share / 2
        total += np.where(tau > LATELY, watts / 300 / capacity * deep * line, 0.0)
        ways = (left, right) if forward else (-right, -left)
        ends = tuple(way - (x if forward else -x) for way in ways)
        beside = (max(ends[0], 0.0) + min(ends[1], 0.0)) / 300
        for number in np.flatnonzero((tau <= LATELY) & (tau > -3e-4)).tolist():
            how = {"depth": 0.05, "sigma": 0.02, "smooth": 0.3**2 / 12, "aside": y - row}
            passed = tau[number] + beside
            total[number] += watts / 300 / capacity * run_rise(passed, ends, 300.0, **how)
    return total


def peak_by_hand(rows, point):
    """The hottest moment of a point, searched finely around all passages of the beam."""
    passes = np.sort([passing(row, point[0]) for row in rows])
    times = (passes[:-1, None] + np.diff(passes)[:, None] * np.linspace(1e-6, 1, 24)).ravel()
    under = (passes[:, None] + 0.02 / 300 * np.linspace(1.0, 4.0, 7)).ravel()
    finer = np.concatenate([times, under])
    return float(kelvin(rows, point, np.sort(finer)).max())


@pytest.fixture(scope="module", params=["one-way", "two-way"])
def written(request):
    text = BENCH.replace("DIRECTION", request.param) + WRITE
    data = convert(load_recipe(None, text), DRAWING, "trowel.svg").data
    assert data is not None
    return request.param, data.decode()


def without_bars(text):
    """The file without all subpaths that lie beside the part."""

    def kept(match):
        subpaths = re.findall(r"M[^M]*", match[1])
        inside = [s for s in subpaths if 10 < float(re.match(r"M([\d.]+)", s)[1]) < 50]
        assert len(inside) == len(subpaths) - 2
        return f'd="{"".join(inside)}"'

    return re.sub(r'\bd="([^"]*)"', kept, text)


def with_levels_swapped(text):
    """The file with the colours, and so the powers and the order, of its two levels exchanged."""
    one, two = "#0072b2", "#d55e00"
    assert text.count(one) == text.count(two) == 1
    return text.replace(one, "#").replace(two, one).replace('"#"', f'"{two}"')


POINTS = [(30.05, 11.0), (30.05, 10.0), (25.05, 9.0), (41.5, 9.0)]
"""Middle of the tip, where it meets the wide block, middle and end of the wide block."""


def compared(written, changed, order, *, bars):
    """Factors by which a change of the file changes the index: as predicted, and by hand."""
    direction, text = written
    before = index_at(text.encode(), direction, POINTS)
    after = index_at(changed(text).encode(), direction, POINTS)
    here = rows_by_hand([(WIDE, 0.5), (TIP, 0.4)], direction, bars=True)
    there = rows_by_hand(order, direction, bars=bars)
    predicted = [b[0] / a[0] for a, b in zip(before, after, strict=True)]
    by_hand = [
        peak_by_hand(there, b[1]) / peak_by_hand(here, a[1])
        for a, b in zip(before, after, strict=True)
    ]
    return predicted, by_hand


SOLVED = WRITE.replace(", powers: [100 %, 80 %]", "") + "  - solve-power: {strength: 70 %}\n"


@pytest.mark.parametrize("passes", [WRITE, SOLVED], ids=["given", "solved"])
@pytest.mark.parametrize("direction", ["one-way", "two-way"])
def test_what_was_simulated_is_what_the_file_says(passes, direction):
    """Cell by cell: the run's own prediction, and that of its file with powers typed in anew."""
    bench = BENCH.replace("DIRECTION", direction)
    result = convert(load_recipe(None, bench + passes), DRAWING, "trowel.svg")
    typed = READ
    for layer, given in zip(output_layers(result.after), ("50 %", "40 %"), strict=False):
        power = f"{100 * layer.settings.power:.6g} %"
        typed = typed.replace(f"settings: {{power: {given}}}", f"settings: {{power: {power} }}")
    again = convert(load_recipe(None, bench + typed), result.data, "trowel.laser.svg")
    one, other = (predict(r.after, r.bench, surely=False).heat for r in (result, again))
    assert len(one.images) == len(other.images) > 0
    for a, b in zip(one.images, other.images, strict=True):
        assert a.lit.sum() == pytest.approx(b.lit.sum(), rel=0.01)
        here, there = (cells(p, r.after.page) for p, r in ((a, result), (b, again)))
        away, nearest_cell = cKDTree(there).query(here)
        assert away.max() < 1e-3
        ratio = b.index[b.lit][nearest_cell] / a.index[a.lit]
        assert np.abs(ratio - 1).max() < 0.005


def cells(patch, page):
    """Where the lit cells of a patch lie on its page, n × 2."""
    us, vs = patch.points
    return np.stack([us[patch.lit] - page.left, vs[patch.lit] - page.top], axis=1)


def test_the_hand_knows_the_rows_of_the_written_file(written):
    """The ratio between two places of one file, before anything is changed."""
    direction, text = written
    tip, _, wide, _ = index_at(text.encode(), direction, POINTS)
    rows = rows_by_hand([(WIDE, 0.5), (TIP, 0.4)], direction, bars=True)
    by_hand = peak_by_hand(rows, tip[1]) / peak_by_hand(rows, wide[1])
    assert tip[0] / wide[0] == pytest.approx(by_hand, rel=0.01)


def test_removing_the_bars_from_the_file_heats_it_by_what_a_hand_finds(written):
    order = [(WIDE, 0.5), (TIP, 0.4)]
    predicted, by_hand = compared(written, without_bars, order, bars=False)
    assert predicted == pytest.approx(by_hand, rel=0.01)
    assert predicted[0] > 1.15


def test_swapping_two_levels_in_the_file_changes_it_by_what_a_hand_finds(written):
    order = [(TIP, 0.5), (WIDE, 0.4)]
    predicted, by_hand = compared(written, with_levels_swapped, order, bars=True)
    assert predicted == pytest.approx(by_hand, rel=0.01)
    assert predicted[0] > 1.05
    assert predicted[2] < 0.85


def test_both_at_once(written):
    order = [(TIP, 0.5), (WIDE, 0.4)]
    both = lambda text: with_levels_swapped(without_bars(text))
    predicted, by_hand = compared(written, both, order, bars=False)
    assert predicted == pytest.approx(by_hand, rel=0.01)
