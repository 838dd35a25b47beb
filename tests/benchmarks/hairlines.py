"""Centre lines as ratios to a Voronoi diagram of the sampled outline, the usual way to get them.

    python -m tests.benchmarks.hairlines

The baseline only finds unconnected pieces of the axis; ours prunes, parts, joins and cuts as well.
Targets on two cores: a hairline of 85 mm within 0.3 s, the thin parts of 800 letters within 10 s,
300 hairlines that cross within 60 s.
"""

import numpy as np
import shapely
from scipy.spatial import Voronoi
from shapely import Polygon

from preprocess.geometry.base.rounding import round_coordinates
from preprocess.geometry.medial_axis.centre_lines import centre_lines
from preprocess.geometry.medial_axis.parallel_lines import parallel_lines
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.geometry.overlay.booleans import union
from tests.benchmarks import art
from tests.benchmarks.table import HEAD, Line, seconds

SEEN_APART = np.cos(np.radians(100))


def sampled(area, step):
    """Ridges between two samples that a place inside sees at least 100 degrees apart."""
    points = shapely.get_coordinates(shapely.segmentize(area, step))
    diagram = Voronoi(np.unique(points, axis=0))
    ends = np.array(diagram.ridge_vertices)
    finite = (ends >= 0).all(axis=1)
    ends, pair = diagram.vertices[ends[finite]], diagram.points[diagram.ridge_points[finite]]
    middle = ends.mean(axis=1)
    arms = pair - middle[:, None]
    cosine = (arms[:, 0] * arms[:, 1]).sum(axis=1) / np.hypot(*arms.T).prod(axis=0)
    shapely.prepare(area)
    return ends[(cosine <= SEEN_APART) & shapely.contains_xy(area, *middle.T)]


def wavy(width=0.06):
    x = np.linspace(0, 80, 2001)
    slope = np.stack((np.ones_like(x), 0.5 * np.cos(x / 4)), axis=1)
    out = width / 2 * np.stack((-slope[:, 1], slope[:, 0]), axis=1) / np.hypot(*slope.T)[:, None]
    way = np.stack((x, 2 * np.sin(x / 4)), axis=1)
    return union([Polygon(np.vstack((way + out, (way - out)[::-1])))])


def hairlines(count):
    return union([Polygon(line) for line in art.hairlines(count)])


def lettering():
    return union(
        [
            fill_contours([round_coordinates(0.3 * part) for part in letter], "nonzero")
            for letter in art.lettering()
        ]
    )


def ours(area):
    found = centre_lines(area, 0.3, 0.6)
    return found, parallel_lines(found, 0.1, 5)


def lines():
    cases = (
        ("85 mm", wavy(), None, 0.03, 1, 0.2),
        ("letters 800", lettering(), None, 0.03, 1, 0.2),
        ("300 crossing", hairlines(300), hairlines(60), 0.03, 5, 0.5),
    )
    for name, area, fewer, step, factor, wanted in cases:
        mine, (found, scored) = seconds(lambda a=area: ours(a))
        theirs, _ = seconds(lambda a=fewer or area, s=step: sampled(a, s))
        seen = f"{len(found.strokes)} strokes, {scored.length:.0f} mm"
        label = "sampled Voronoi" + (f" (a {factor}th, scaled)" if factor > 1 else "")
        yield Line("hairlines", name, mine, label, theirs * factor, wanted, seen)


if __name__ == "__main__":
    print(HEAD)
    for line in lines():
        print(line.text(), flush=True)
