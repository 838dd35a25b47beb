"""Heights in the overlay: bands of each copy where its part lies, and a scale in the legend."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from lxml import etree

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.preview.drawing.canvas import Viewport
from preprocess.preview.overlay.overlay import overlay_svg
from preprocess.preview.relief.heights_entry import heights_entries
from tests.read.part.parts import seen

RELIEF = seen(in_focus=0.3).relief
POSES = ((1.0, 0.0, 0.0, 1.0, 40.0, 30.0), (1.0, 0.0, 0.0, 1.0, 40.0, 70.0))
TRAY = Artwork(page=Page(width=80, height=100), shapes=(), layers=(), poses=POSES)


def test_each_copy_has_its_bands() -> None:
    (entry,) = heights_entries(TRAY, (RELIEF,))
    assert len(entry.bands) == 10
    (low, _), (high, _) = entry.bands[0], entry.bands[-1]
    assert low.area == pytest.approx(2 * 1800)
    assert high.area == pytest.approx(2 * 20)
    assert high.bounds == pytest.approx((50, 25, 52, 75))
    assert "3.00 mm (dark) to 3.80 mm (light); marked surface 3.00 mm up" in entry.words


def test_the_scale_has_a_step_to_each_band() -> None:
    (entry,) = heights_entries(TRAY, (RELIEF,))
    assert len(entry.swatch(0, 0, 10, 4)) == 10
    view = Viewport(scale=1.0, origin=(0, 0), corner=(0, 0))
    assert sum("<path" in line for line in entry.drawn("x", view)) == 11


def test_an_enlarged_detail_shows_its_part_of_the_bands_alone() -> None:
    (entry,) = heights_entries(TRAY, (RELIEF,))
    detail = replace(entry, geometry=shapely.MultiPolygon([shapely.box(20, 20, 24, 24)]))
    view = Viewport(scale=1.0, origin=(0, 0), corner=(0, 0))
    lines = detail.drawn("x", view)
    assert sum("<path" in line for line in lines) == 2
    empty = replace(entry, geometry=shapely.MultiPolygon())
    assert empty.drawn("x", view) == []


def test_parts_without_a_model_have_no_heights() -> None:
    assert heights_entries(replace(TRAY, poses=(None, None)), (RELIEF,)) == []
    assert heights_entries(replace(TRAY, poses=()), (None,)) == []


def test_the_overlay_shows_them_under_the_marks() -> None:
    svg = overlay_svg(TRAY, TRAY, title="tray", reliefs=(RELIEF,))
    titles = [e.text for e in etree.fromstring(svg).iter("{*}title")]
    assert any("heights from the model" in title for title in titles)
    bare = overlay_svg(TRAY, TRAY, title="tray")
    assert b"heights" not in bare


def test_marks_stand_out_on_every_band_by_a_white_casing() -> None:
    (entry,) = heights_entries(TRAY, (RELIEF,))
    view = Viewport(scale=1.0, origin=(0, 0), corner=(0, 0))
    drawn = replace(entry, marks=(shapely.MultiPolygon([shapely.box(42, 32, 50, 36)]),))
    cased = [line for line in drawn.drawn("x", view) if 'stroke="#ffffff"' in line]
    assert len(cased) == 1
    assert "M42 32 42 36 50 36 50 32Z" in cased[0]
    vein = shapely.MultiLineString([[(42, 32), (500, 32)]])
    (cut,) = [
        line
        for line in replace(entry, marks=(vein,)).drawn("x", view)
        if 'stroke="#ffffff"' in line
    ]
    assert "500" not in cut
    beside = replace(entry, marks=(shapely.MultiPolygon([shapely.box(0, 0, 8, 4)]),))
    assert not any('stroke="#ffffff"' in line for line in beside.drawn("x", view))


def test_ten_bands_are_told_apart_in_a_grey_print() -> None:
    """Luma of Rec. 601; neighbours of at least nine of 255 levels, as the steps of a grey wedge."""
    (entry,) = heights_entries(TRAY, (RELIEF,))
    greys = [
        sum(w * int(c[i : i + 2], 16) for w, i in ((0.299, 1), (0.587, 3), (0.114, 5)))
        for _, c in entry.bands
    ]
    assert all(lighter - darker > 9 for darker, lighter in pairwise(greys))
