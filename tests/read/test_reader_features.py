"""One feature to a file: area, box and holes of what it paints, worked out by hand."""

import math

import pytest
import shapely

from preprocess.model.artwork.artwork import Drawing
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.read.reading import FIXTURES, codes, painted

DISC = math.pi * 400
"""A disc of radius 20 mm."""

WIDE = math.sqrt((100**2 + 50**2) / 2) / 10
"""A tenth of the diagonal over √2 of a viewport of 100 x 50."""

MM = 96 / 25.4
"""User units in a mm of a length with a unit."""

# fixture: area in mm², box in mm, holes, findings
FEATURES = {
    "style/attribute_selectors": (100, (0, 0, 10, 10), 0, {"draws-nothing"}),
    "style/structural_selectors": (100 + DISC, (0, 0, 80, 80), 0, {"draws-nothing"}),
    "style/child_and_descendant": (100, (0, 0, 10, 10), 0, {"draws-nothing"}),
    "style/important": (100, (0, 0, 10, 10), 0, {"draws-nothing"}),
    "style/wide_keywords": (400 + 2 * (24**2 - 16**2), (8, 8, 72, 72), 2, set()),
    "style/geometry_properties": (1200 + DISC / 4 + 400, (10, 20, 80, 90), 0, set()),
    "paint/current_color": (10_000 - 100, (0, 0, 100, 100), 1, set()),
    # The white stroke shows outside the fill only: a frame of 48 around 40.
    "paint/paint_order": (10_000 - (48**2 - 40**2), (0, 0, 100, 100), 1, set()),
    "paint/visible_inside_hidden": (100, (0, 0, 10, 10), 0, {"hidden"}),
    "paint/forms_of_colour": (
        200,
        (0, 0, 30, 30),
        0,
        {"draws-nothing", "style-value-ignored"},
    ),
    "paint/fallback": (100, (0, 0, 10, 10), 0, {"broken-reference", "draws-nothing"}),
    "paint/faint": (100, (0, 0, 10, 10), 0, {"too-faint"}),
    "transform/css_units": (100, (10, 10 * MM, 20, 10 + 10 * MM), 0, set()),
    # 40 x 20 about (60, 50), turned.
    "transform/fill_box": (800, (50, 30, 70, 70), 0, set()),
    # Moved by 5, made 50 long, turned down about (0, 0), then moved: x 50 − 10 … 50, y 10 + 10 …
    "transform/single_properties": (400, (40, 20, 50, 60), 0, set()),
    "shape/font_units": (20 * 32, (0, 0, 20, 32), 0, set()),
    "shape/units": (24 * 16, (0, 0, 24, 16), 0, set()),
    "shape/percent_axes": (20 * 20, (10, 5, 30, 25), 0, set()),
    "stroke/percent_width": (80 * WIDE, (10, 40 - WIDE / 2, 90, 40 + WIDE / 2), 0, set()),
    "stroke/caps": (44 * 4 + 160 + math.pi * 4 + 160, (18, 18, 62, 62), 0, set()),
    # Two legs of 40 x 8 share 4 x 4; beyond the corner a quarter disc, a triangle, or a square.
    "stroke/round_join": (640 - 16 + math.pi * 4, (16, 16, 60, 60), 0, set()),
    "stroke/bevel_join": (640 - 16 + 8, (16, 16, 60, 60), 0, set()),
    "stroke/mitre_join": (640 - 16 + 16, (16, 16, 60, 60), 0, set()),
    "stroke/skewed": (160, (38, 20, 82, 60), 0, set()),
    "stroke/dash_offset": ((3 + 7 * 6 + 3) * 2, (10, 49, 90, 51), 0, set()),
    "stroke/odd_dashes": (2 * 20 * 2, (10, 49, 85, 51), 0, set()),
    "stroke/dots_by_dashes": (8 * math.pi * 4, (8, 48, 82, 52), 0, set()),
    "stroke/closed": (44**2 - 36**2, (18, 18, 62, 62), 1, set()),
    "marker/start_reversed": (80 + 2 * 50, (20, 45, 80, 55), 0, set()),
    "marker/mid_clipped": (160 + 36 - 12, (10, 7, 90, 13), 0, set()),
    # An arc has no vertices but its ends: one bud, at (80, 50).
    "marker/arc": (16, (78, 48, 82, 52), 0, set()),
    "clip/on_group": (200, (20, 30, 30, 70), 0, set()),
    "clip/use_inside": (400, (15, 5, 35, 25), 0, set()),
    "clip/after_its_user": (DISC, (30, 30, 70, 70), 0, set()),
    "clip/empty": (100, (0, 0, 10, 10), 0, {"clip-without-area", "draws-nothing"}),
    "clip/css_circle": (DISC, (30, 20, 70, 60), 0, set()),
    "clip/css_inset": (40 * 60, (30, 20, 70, 80), 0, set()),
    "clip/css_polygon": (80 * 80 / 2, (10, 10, 90, 90), 0, set()),
    "clip/css_path": (40**2 - 20**2, (10, 10, 50, 50), 1, set()),
    "mask/by_bounding_box": (20 * 30, (10, 20, 30, 50), 0, set()),
    "mask/by_opacity": (40 * 20, (10, 10, 50, 30), 0, set()),
    "mask/region": (10 * 20, (20, 40, 30, 60), 0, set()),
    "pattern/by_bounding_box": (8 * 25, (10, 10, 75, 35), 0, set()),
    "pattern/view_box": (4 * math.pi * 25, (5, 5, 35, 35), 0, set()),
    "pattern/transformed": (400, (5, 5, 35, 35), 0, set()),
    "pattern/far_beyond_page": (2500, (2, 2, 97, 97), 0, {"beyond-page"}),
    "pattern/too_many": (10_000, (0, 0, 100, 100), 0, {"pattern-cap"}),
    "nested/visible": (400, (20, 30, 60, 40), 0, set()),
    "nested/percent": (400, (10, 10, 30, 30), 0, set()),
    "nested/view_box": (400, (20, 10, 40, 30), 0, set()),
    "use/sized_svg": (1600, (20, 20, 60, 60), 0, set()),
    "use/width_in_css": (400, (10, 0, 30, 20), 0, set()),
    "use/inherits": (100, (0, 0, 10, 10), 0, {"draws-nothing"}),
    "gradient/clear_part": (400, (0, 0, 40, 10), 0, {"gradient-as-solid"}),
    "switch/inside_a_group": (100, (0, 0, 10, 10), 0, set()),
}


@pytest.mark.parametrize("name", FEATURES)
def test_feature(name):
    area, box, holes, expected = FEATURES[name]
    wanted = ReadingOptions(drawing=Drawing(tolerance=1e-3))
    reading = read((FIXTURES / f"{name}.svg").read_bytes(), name, wanted)
    whole = painted(reading)
    assert whole.area == pytest.approx(area, rel=1e-3)
    assert whole.bounds == pytest.approx(box, abs=0.006)
    assert int(shapely.get_num_interior_rings(shapely.get_parts(whole)).sum()) == holes
    assert codes(reading) == expected
