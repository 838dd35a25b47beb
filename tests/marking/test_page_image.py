"""The index as an image of the page."""

import dataclasses

import numpy as np
import pytest
import shapely
from shapely import box

from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.page_image import page_image
from preprocess.model.bench.bench import Bench
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape, square


def image_of(*shapes, size, settings=ENGRAVED):
    return page_image(heat_index(artwork(*shapes, settings=settings), Bench()).patches, size)


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0])
@pytest.mark.parametrize("size", [0.05, 0.25])
def test_pixels_lie_where_the_artwork_lies(angle, size):
    area = area_of(box(10, 20, 18, 24).difference(box(12, 21, 13, 23)))
    settings = dataclasses.replace(ENGRAVED, angle=angle)
    image = image_of(shape(area), size=size, settings=settings)
    rows, columns = np.nonzero(np.isfinite(image.index))
    x = image.left + size * (columns + 0.5)
    y = image.top + size * (rows + 0.5)
    assert shapely.contains_xy(area.buffer(0.11), x, y).all()
    assert len(x) * size**2 == pytest.approx(area.area, rel=0.05)


def test_the_highest_index_shows_where_layers_overlap():
    first, second = shape(square(0, 0, 4), "one"), shape(square(1, 1, 2), "two")
    found = heat_index(artwork(first, second), Bench())
    image = page_image(found.patches, 0.1)
    row, column = (int((2 - start) / 0.1) for start in (image.top, image.left))
    assert image.index[row, column] == pytest.approx(found.patches[1].index[10, 10], rel=0.02)
    assert np.nanmax(image.index) == found.largest


def test_nothing_marked_gives_an_empty_image():
    assert page_image((), 0.1).index.size == 0
