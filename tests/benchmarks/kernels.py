"""Geometry kernels as ratios to named baselines, all measured in this one run.

    python -m tests.benchmarks.kernels          about a minute
    python -m tests.benchmarks.kernels full     with the slow baselines, some minutes

Times differ from machine to machine; ratios do much less. "wanted" is how many times faster than
the baseline a kernel has to be; below 1 it may be that much slower, where it is exact and the
baseline is not.
"""

import sys

import numpy as np
import pyclipper
import shapely

from preprocess.geometry.base.flatten import flatten_cubics
from preprocess.geometry.base.rounding import round_coordinates
from preprocess.geometry.base.sweep import rings_of, sweep_contours
from preprocess.geometry.offset.offset import shrink_area
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.overlay.components import groups_within
from preprocess.geometry.rows.visit_order import spread_order, visit_spacing
from tests.benchmarks import art
from tests.benchmarks.table import HEAD, Line, seconds
from tests.geometry.rows_agree import worst_row


def read(contours):
    return [round_coordinates(contour) for contour in contours]


def by_clipper(contours):
    clipper = pyclipper.Pyclipper()
    paths = [np.round(c * 1e5).astype(np.int64).tolist() for c in contours]
    clipper.AddPaths(paths, pyclipper.PT_SUBJECT, closed=True)
    return clipper.Execute(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)


def fill_rules():
    letters = [part for letter in art.lettering() for part in letter]
    cases = [
        ("lettering 800", read(letters), 0.53),
        ("coast 197k", read(art.coast()), 5.8),
        ("bands 144k", read(art.bands()), 0.52),
        ("rosette 200k", read(art.rosette(200_000)), 0.5),
    ]
    for name, contours, factor in cases:
        ours, area = seconds(lambda c=contours: fill_contours(c, "nonzero"), 2)
        theirs, _ = seconds(lambda c=contours: by_clipper(c), 2)
        seen = f"worst row {worst_row(contours, 'nonzero', area):.0e} mm"
        yield Line("fill rules", name, ours, "Clipper", theirs, factor, seen)


def shapes_of(paths):
    return [fill_contours(read(path), "nonzero") for path in paths]


def unions(full):
    cases = [
        ("10k squares", [[c] for c in art.squares()], 20),
        ("lettering 8000", list(art.lettering(80, 100)), 3),
    ]
    if full:
        cases.append(("100k squares", [[c] for c in art.squares(316)], 35))
    for name, paths, factor in cases:
        areas = shapes_of(paths)
        ours, whole = seconds(lambda a=areas: union(a), 3)
        theirs, _ = seconds(lambda a=areas: shapely.union_all(a))
        seen = f"{len(whole.geoms)} parts"
        yield Line("union", name, ours, "GEOS union_all", theirs, factor, seen)


def touching():
    areas = shapes_of([c] for c in art.squares(100, 0.6, 0.6))
    ours, whole = seconds(lambda: union(areas), 3)
    theirs, _ = seconds(lambda: shapely.union_all(areas, grid_size=1e-4))
    slit = shapely.union_all([shapely.Polygon(c) for c in art.squares(100, 0.6, 0.6)])
    seen = f"{len(whole.geoms)} part (unrounded by GEOS: {shapely.get_num_geometries(slit)})"
    return Line("union", "10k touching squares", ours, "union_all, grid 1e-4", theirs, 1.5, seen)


def end_to_end(full):
    paths = [[c] for c in (art.petals(360, 16) if full else art.petals(180, 10, radius=25))]
    contours = [c for path in paths for c in path]
    ours, whole = seconds(lambda: union(shapes_of(paths)), 2)
    theirs, _ = seconds(lambda: fill_contours(read(contours), "nonzero"))
    error = worst_row(read(contours), "nonzero", whole)
    name = f"petals {sum(map(len, contours)) // 1000}k"
    seen = f"worst row {error:.0e} mm"
    return Line("fill+union", name, ours, "all in one path", theirs, 50, seen)


def parts():
    rings = [ring[:-1] for ring in rings_of(union(shapes_of(art.lettering(90, 120))))]
    ours, area = seconds(lambda: fill_contours(rings, "evenodd"), 2)
    lines = shapely.geometrycollections([shapely.linearrings(ring) for ring in rings])
    theirs, _ = seconds(lambda: shapely.build_area(lines))
    seen = f"{len(rings)} rings, {len(area.geoms)} parts"
    yield Line("components", "rings of 10,800 letters", ours, "GEOS build_area", theirs, 10, seen)
    squares = [shapely.Polygon(c) for c in art.squares()]
    ours, groups = seconds(lambda: groups_within(squares, 0.41), 3)
    theirs, _ = seconds(lambda: shapely.union_all(shapely.buffer(squares, 0.205)))
    seen = f"{len(groups)} group"
    yield Line("components", "10k squares in reach", ours, "buffer and unite", theirs, 12, seen)


def row_sweep():
    letters = [part for letter in art.lettering() for part in letter]
    for name, contours, factor in (
        ("coast 197k", read(art.coast()), 3000),
        ("lettering 800", read(letters), 400),
    ):
        y = np.concatenate(contours)[:, 1]
        rows = y.min() + (np.arange(2000) + 0.5) * np.ptp(y) / 2000
        ours, runs = seconds(lambda c=contours, r=rows: sweep_contours(c, "nonzero", r), 5)
        area = union([fill_contours(contours, "nonzero")])
        few = rows[::50]
        theirs, length = seconds(lambda a=area, r=few: _by_line(a, r))
        lengths = np.bincount(runs.row, runs.end - runs.start, minlength=2000)[::50]
        seen = f"{len(runs)} runs, worst row {np.abs(lengths - length).max():.0e} mm"
        label = "GEOS per row (40, scaled)"
        yield Line("row sweep", name, ours, label, theirs * 50, factor, seen)


def _by_line(area, rows):
    left, _, right, _ = area.bounds
    lines = [shapely.LineString([(left - 1, y), (right + 1, y)]) for y in rows]
    return np.array([shapely.intersection(area, line).length for line in lines])


def offsets():
    cases = [
        ("10k squares", shapes_of([c] for c in art.squares()), 35),
        ("lettering 10,800", shapes_of(art.lettering(90, 120)), 12),
    ]
    for name, areas, factor in cases:
        whole = union(areas)
        ours, _ = seconds(lambda w=whole: shrink_area(w, 0.05), 2)
        theirs, _ = seconds(lambda w=whole: shapely.buffer(w, -0.05, quad_segs=5))
        yield Line("offset", name, ours, "buffer of the whole", theirs, factor)


def curves():
    cubics = np.random.default_rng(1).uniform(0, 30, (20_000, 4, 2))
    ours, (_, counts) = seconds(lambda: flatten_cubics(cubics, 0.005), 3)
    theirs, _ = seconds(lambda: [_halved(curve, 0.005) for curve in cubics[:500]])
    seen = f"{int(counts.sum()) - len(counts)} pieces"
    label = "halving in Python (500, scaled)"
    return Line("flatten", "20k cubics", ours, label, theirs * 40, 12, seen)


def _halved(curve, tolerance):
    p0, p1, p2, p3 = curve
    bend = max(np.hypot(*(p0 - 2 * p1 + p2)), np.hypot(*(p1 - 2 * p2 + p3)))
    if 0.75 * bend <= tolerance:
        return [p0, p3]
    a, b, c = (p0 + p1) / 2, (p1 + p2) / 2, (p2 + p3) / 2
    d, e = (a + b) / 2, (b + c) / 2
    m = (d + e) / 2
    return _halved((p0, a, d, m), tolerance)[:-1] + _halved((m, e, c, p3), tolerance)


def orders():
    """Seeds on a field of 100 mm; what is kept from the last five is also told of chance."""
    at = np.arange(141) * 100 / 141
    points = np.stack(np.meshgrid(at, at), 2).reshape(-1, 2)
    chance = visit_spacing(points[np.random.default_rng(1).permutation(len(points))])
    theirs, order = seconds(lambda: _greedy(points))
    greedy = visit_spacing(points[order])
    for name, repair, factor in (("20k seeds", False, 10), ("20k seeds, repaired", True, 2)):
        ours, order = seconds(lambda r=repair: spread_order(points, repair=r), 3)
        way = points[order]
        step = np.hypot(*np.diff(way, axis=0).T).min()
        kept = visit_spacing(way)
        seen = (
            f"least step {step:.1f} % of the field; 1 % of last five {kept:.1f} %, "
            f"{kept / chance:.1f} times chance, {kept / greedy:.1f} times greedy"
        )
        yield Line("order", name, ours, "farthest of 64 by chance", theirs, factor, seen)


def _greedy(points):
    """Of 64 seeds by chance always the one farthest from the last five."""
    chance = np.random.default_rng(2)
    left, found = np.arange(len(points)), []
    for size in range(len(points), 0, -1):
        picks = chance.integers(0, size, 64)
        last = points[found[-5:]] if found else points[:1]
        apart = np.abs(points[left[picks]][:, None] - last)
        best = picks[np.hypot(apart[..., 0], apart[..., 1]).min(axis=1).argmax()]
        found.append(left[best])
        left[best] = left[size - 1]
    return np.array(found)


def lines(full):
    yield from fill_rules()
    yield from unions(full)
    yield touching()
    yield end_to_end(full)
    yield from parts()
    yield from row_sweep()
    yield from offsets()
    yield curves()
    yield from orders()


if __name__ == "__main__":
    print(HEAD)
    for line in lines("full" in sys.argv[1:]):
        print(line.text(), flush=True)
