"""Craft passes, whole, as ratios to what a plain library call takes for the bare geometry.

    python -m tests.benchmarks.crafts          some minutes

Each pass runs on artwork as it was read, shape by shape, with findings and ledger; the baseline is
the call that a script would make instead, on bare geometry that is at hand already: it tells
nothing, and closes and bridges what it likes. So a pass may take many times as long where it
searches for what would be lost. keep-only reckons nothing, and score-hairlines has a benchmark of
its own.
"""

from __future__ import annotations

import numpy as np
import shapely

from preprocess.geometry.overlay.booleans import union
from preprocess.model.artwork.source import Selection
from preprocess.passes.compensate_spot import CompensateSpot
from preprocess.passes.drop_duplicates import DropDuplicates
from preprocess.passes.inset_tips import InsetTips
from preprocess.passes.join_overlaps import JoinOverlaps
from preprocess.passes.keep_clear import KeepClear
from preprocess.passes.negative import Negative
from preprocess.passes.score_edges import ScoreEdges
from preprocess.passes.simplify import Simplify
from preprocess.testing import read_artwork
from tests.benchmarks import art
from tests.benchmarks.drawings import path
from tests.benchmarks.table import HEAD, Line, seconds

RECIPE = """\
recipe: 1
settings:
  engrave: {power: 50 %, speed: 900 mm/s, pitch: 0.1 mm}
  score: {power: 30 %, speed: 250 mm/s}
passes: [negative: {within: {select: "#ground"}}, keep-clear: {areas: {select: .hole}}]
"""
"""With all choices of the passes, for elements are matched while a drawing is read."""
ROWS, COLUMNS = 40, 60
SIDE = 200.0


def svg(letters, extra=""):
    body = "".join(
        f'<path id="letter-{n}" d="{"".join(map(path, letter))}"/>'
        for n, letter in enumerate(letters)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{SIDE}mm" height="{SIDE}mm" '
        f'viewBox="0 0 {SIDE} {SIDE}">{body}{extra}</svg>'
    )


def measured(step, begin, baseline, call, wanted, name="letters"):
    artwork, bench = begin
    ours, outcome = seconds(lambda: step(artwork, bench), 3)
    theirs, _ = seconds(call, 2)
    shapes = [shape.geometry for shape in outcome.artwork.shapes]
    points = int(shapely.get_num_coordinates(shapes).sum())
    return Line(step.name, name, ours, baseline, theirs, wanted, f"{points} points")


def on_letters():
    """Passes on areas: 2400 letters in as many paths."""
    begin = read_artwork(svg(art.lettering(ROWS, COLUMNS)), RECIPE)
    whole = union([shape.geometry for shape in begin[0].shapes])
    offset = "buffer of the whole"
    yield measured(
        ScoreEdges(inset=0.05), begin, offset, lambda: shapely.buffer(whole, -0.05).boundary, 0.1
    )
    yield measured(
        CompensateSpot(by=0.03), begin, offset, lambda: shapely.buffer(whole, -0.03), 0.1
    )
    yield measured(
        InsetTips(narrower_than=0.6), begin, "buffers of the whole", lambda: _corners(whole), 0.5
    )
    yield measured(Simplify(within=0.01), begin, "coverage_simplify", lambda: _simple(begin), 0.25)


def _corners(whole):
    return shapely.difference(whole, shapely.buffer(shapely.buffer(whole, -0.3), 0.3))


def _simple(begin):
    return shapely.coverage_simplify([shape.geometry for shape in begin[0].shapes], 0.01)


def on_ground():
    """Letters taken out of a ground, and holes out of letters."""
    frame = f'<path id="ground" d="M-1 -1H{SIDE}V{SIDE}H-1Z"/>'
    begin = read_artwork(svg(art.lettering(ROWS, COLUMNS), frame), RECIPE)
    *letters, ground = [shape.geometry for shape in begin[0].shapes]
    cut = "GEOS difference"
    yield measured(
        Negative(within=Selection(select="#ground")),
        begin,
        cut,
        lambda: shapely.difference(ground, shapely.union_all(letters)),
        0.25,
    )
    rng = np.random.default_rng(4)
    holes = "".join(
        f'<circle class="hole" cx="{x:.3f}" cy="{y:.3f}" r="1.5"/>'
        for x, y in rng.uniform(0, 0.8 * SIDE, (400, 2))
    )
    begin = read_artwork(svg(art.lettering(ROWS, COLUMNS), holes), RECIPE)
    shapes = [shape.geometry for shape in begin[0].shapes]
    letters, discs = shapes[: ROWS * COLUMNS], shapes[ROWS * COLUMNS :]
    yield measured(
        KeepClear(areas=Selection(select=".hole"), margin=0.2),
        begin,
        cut,
        lambda: shapely.difference(letters, shapely.union_all(shapely.buffer(discs, 0.2))),
        0.25,
    )


def on_strokes():
    """Outlines of strokes that overlap, and lines that lie on one another."""
    strokes = [[part] for letter in art.lettering(ROWS, COLUMNS) for part in letter]
    begin = read_artwork(svg(strokes), RECIPE)
    areas = [shape.geometry for shape in begin[0].shapes]
    yield measured(
        JoinOverlaps(), begin, "GEOS union_all", lambda: shapely.union_all(areas), 0.25, "strokes"
    )
    lines = "".join(
        f'<path id="vein-{n}" fill="none" stroke="#000" stroke-width=".1" d="M{n % 100} {n // 100}'
        f'h{0.5 + n % 3 / 4}"/>'
        for n in range(5000)
        for _ in range(1 + n % 2)
    ).replace('id="vein-', 'class="vein-')
    begin = read_artwork(svg([], lines), RECIPE)
    drawn = [shape.geometry for shape in begin[0].shapes]
    yield measured(
        DropDuplicates(), begin, "GEOS union_all", lambda: shapely.union_all(drawn), 0.05, "veins"
    )


def lines():
    yield from on_letters()
    yield from on_ground()
    yield from on_strokes()


if __name__ == "__main__":
    print(HEAD)
    for line in lines():
        print(line.text(), flush=True)
