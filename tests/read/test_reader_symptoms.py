"""Files that readers of SVG get wrong, each with the area that it must give, worked out by hand."""

import math

import pytest

from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.read.reading import FIXTURES, codes, painted
from tests.read.test_reader_features import FEATURES
from tests.read.text.test_text_element import LETTERING

PX = 25.4 / 96
"""Millimetres in a px."""

DISC = math.pi * 400
"""A disc of radius 20 mm."""

# fixture, area in mm², box of what is painted in mm (None: not asked), findings
CASES = [
    ("fill/evenodd_hole", 80**2 - 40**2, (10, 10, 90, 90), set()),
    ("fill/counter_wound_hole", 80**2 - 40**2, (10, 10, 90, 90), set()),
    ("fill/bow_tie", 2 * 80 * 40 / 2, (10, 10, 90, 90), set()),
    ("fill/open_filled", 1600, (10, 10, 50, 50), {"open-filled-path"}),
    ("size/pixels_only", 25.4**2, (0, 0, 25.4, 25.4), set()),
    ("size/view_box_only", 25.4**2, (0, 0, 25.4, 25.4), {"assumed-scale"}),
    ("size/relative", 25.4**2, (0, 0, 25.4, 25.4), {"assumed-scale"}),
    ("size/mm_without_view_box", 25.4**2, (0, 0, 25.4, 25.4), set()),
    ("size/one_side", 60 * 30, (0, 0, 60, 30), set()),
    ("transform/upside_down", 40 * 10 + 10 * 40, (10, 40, 50, 90), set()),
    ("transform/origin", 200, (25, 15, 35, 35), set()),
    ("stroke/stretched_group", 12 * 60, (24, 20, 36, 80), set()),
    ("stroke/non_scaling", 4 * 60, (28, 20, 32, 80), set()),
    ("stroke/width_in_class", 80 * 2, (10, 49, 90, 51), set()),
    ("stroke/dashes", 8 * 6 * 2, (10, 49, 86, 51), set()),
    # Dashes of 6 and gaps of 4 from the left edge on; 100 mm of page show ten of them.
    ("stroke/dashes_beyond_page", 10 * 6 * 2, (0, 49, 96, 51), {"beyond-page"}),
    ("stroke/dash_path_length", 8 * 6 * 2, (10, 49, 86, 51), set()),
    ("stroke/dots", 100, (15, 15, 25, 25), {"draws-nothing"}),
    ("stroke/vertical_line", 80, (49.5, 10, 50.5, 90), set()),
    # Butt ends leave out a quarter of the corner where the ends meet.
    ("stroke/ends_meet_without_closing", 70**2 - 50**2 - 25, (15, 15, 85, 85), set()),
    ("clip/stroke_across", 40, (20, 48, 30, 52), set()),
    ("clip/by_bounding_box", 40 * 30, (10, 20, 50, 50), set()),
    ("clip/nested", 20 * 100, (40, 0, 60, 100), set()),
    ("clip/evenodd", 80**2 - 40**2, (10, 10, 90, 90), set()),
    ("mask/black_on_white", 80**2 - 20**2, (10, 10, 90, 90), set()),
    # A seed of 6 × 6 mm across its corners in each tile of 10 mm, 8 × 8 of them on the plate.
    ("mask/pattern", 64 * 6 * 6 / 2, (12, 12, 88, 88), set()),
    ("mask/shades", 80**2, (10, 10, 90, 90), {"mask-ignored"}),
    ("symbol/not_drawn", 100, (0, 0, 10, 10), set()),
    ("symbol/view_box", 40 * 20, (10, 10, 50, 30), set()),
    ("nested/overflow", 40 * 15, (20, 30, 60, 45), set()),
    ("path/packed_arc_flags", DISC, (20, 30, 60, 70), set()),
    ("path/arc_without_radius", 80 * 40 / 2, (10, 10, 90, 50), set()),
    # The bow: y = 50 − 120 t(1−t), dx = 240 t(1−t) dt, so 28800 ∫ t²(1−t)² dt = 960.
    ("path/smooth_after_cubic", 80 * 40 + 960, (10, 20, 90, 90), set()),
    ("path/bad_tail", 400, (10, 10, 30, 30), {"broken-path"}),
    ("path/not_a_number", 200, (10, 10, 30, 30), {"broken-path", "open-filled-path"}),
    ("path/too_large", 400, (10, 10, 30, 30), {"broken-path", "open-filled-path"}),
    ("path/without_data", 100, (0, 0, 10, 10), {"draws-nothing"}),
    ("use/offset_and_transform", 100, (25, 5, 35, 15), set()),
    ("use/cycle", 400, (60, 60, 80, 80), {"use-cycle"}),
    ("use/nowhere", 100, (0, 0, 10, 10), {"broken-reference"}),
    ("paint/fill_and_stroke", 44**2, (18, 18, 62, 62), set()),
    ("paint/white_over_black", 10000 - DISC, (0, 0, 100, 100), set()),
    ("paint/hidden", 100, (0, 0, 10, 10), {"hidden"}),
    ("paint/transparent", 100, (0, 0, 10, 10), {"hidden", "draws-nothing"}),
    ("style/after_the_shape", 100, (0, 0, 10, 10), {"hidden"}),
    ("style/specificity", 100 + DISC, (0, 0, 70, 70), set()),
    ("style/variables", 100, (0, 0, 10, 10), {"draws-nothing"}),
    ("style/broken_formula", 200, (0, 0, 30, 10), {"style-rule-ignored"}),
    ("style/media", 100, (0, 0, 10, 10), {"hidden"}),
    ("shape/tiny", 0.0004, (50, 50, 50.02, 50.02), set()),
    ("shape/negative_sizes", 100, (0, 0, 10, 10), {"draws-nothing", "style-value-ignored"}),
    ("shape/missing_ry", DISC, (30, 30, 70, 70), set()),
    ("shape/percent_radius", math.pi * (200**2 + 100**2) / 2 / 100, None, set()),
    ("shape/rounded_by_rx", 800 - (4 - math.pi) * 25, (10, 10, 50, 30), set()),
    ("pattern/squares", 2500, (0, 0, 90, 90), set()),
    ("marker/arrow_head", 40 * 4 + 8 * 8, (20, 46, 68, 54), set()),
    ("gradient/solid", 100, (0, 0, 10, 10), {"gradient-as-solid"}),
    ("gradient/clear", 100, (0, 0, 10, 10), {"draws-nothing"}),
    ("switch/first_that_fits", 100, (0, 0, 10, 10), set()),
    ("left_out/text", 100, (0, 0, 10, 10), {"font-missing"}),
    ("left_out/image", 100, (0, 0, 10, 10), {"image-left-out"}),
    ("image/embedded", 100, (0, 0, 10, 10), {"image-kept"}),
    ("image/linked", 100, (0, 0, 10, 10), {"image-left-out"}),
    ("image/drawing_in_drawing", 100, (0, 0, 10, 10), {"image-left-out"}),
    ("image/clipped", 100, (0, 0, 10, 10), {"image-kept", "image-uncropped"}),
    ("left_out/filter", 100, (0, 0, 10, 10), {"filter-ignored"}),
    ("page/strange_namespace", 20 * 10, (5, 5, 25, 15), set()),
    ("page/overhang", 100 * 20, (0, 40, 100, 60), {"beyond-page"}),
]


@pytest.mark.parametrize(("name", "area", "box", "expected"), CASES, ids=[c[0] for c in CASES])
def test_symptom(name, area, box, expected):
    reading = read((FIXTURES / f"{name}.svg").read_bytes(), name, ReadingOptions())
    whole = painted(reading)
    assert whole.area == pytest.approx(area, rel=1e-3)
    if box:
        assert whole.bounds == pytest.approx(box, abs=0.006)
    assert codes(reading) == expected


def test_every_fixture_has_its_answer():
    files = {str(p.relative_to(FIXTURES).with_suffix("")) for p in FIXTURES.rglob("*.svg")}
    lettering = {f"text/{name}" for name in LETTERING}
    others = {"stroke/bevel_over_the_limit"}
    assert files == {case[0] for case in CASES} | set(FEATURES) | lettering | others


def test_a_join_over_the_mitre_limit_is_bevelled():
    """Half width 4 at a leg of slope 60:10 puts the bevel's corners at y = 30 − 4·10/√3700."""
    data = (FIXTURES / "stroke" / "bevel_over_the_limit.svg").read_bytes()
    top = painted(read(data, "fern.svg", ReadingOptions())).bounds[1]
    assert top == pytest.approx(30 - 40 / math.sqrt(3700), abs=1e-3)


def test_two_units_per_inch_give_two_sizes():
    data = (FIXTURES / "size" / "pixels_only.svg").read_bytes()
    for per_inch in (72, 90, 96):
        from preprocess.model.artwork.artwork import Drawing

        page = read(
            data, "fern.svg", ReadingOptions(drawing=Drawing(px_per_inch=per_inch))
        ).artwork.page
        assert page.width == pytest.approx(96 * 25.4 / per_inch)


def test_an_assumed_scale_names_the_alternatives():
    data = (FIXTURES / "size" / "view_box_only.svg").read_bytes()
    reading = read(data, "fern.svg", ReadingOptions())
    (finding,) = (f for f in reading.findings if f.code == "assumed-scale")
    assert finding.severity == "warn"
    assert "25.40 x 25.40 mm" in finding.message
    assert "33.87 x 33.87 mm at 72" in finding.message
    assert "27.09 x 27.09 mm at 90" in finding.message
    assert "viewBox" in reading.artwork.page.size_from
