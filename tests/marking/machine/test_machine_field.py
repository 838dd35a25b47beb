"""Where the field of a machine lies on the page."""

from shapely import box

from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.artwork import Page
from preprocess.model.bench.machine import Machine
from tests.marking.drawn import area_of, artwork, shape, square


def test_the_field_is_centred_on_the_parts_then_on_the_page_unless_it_is_given():
    page = Page(width=60, height=40, left=10, top=20)
    machine = Machine(field=(100, 80))
    part = area_of(box(0, 0, 10, 10))
    bare = artwork(shape(square(0, 0, 4)), page=page)
    assert field_box(bare, Machine()) is None
    assert field_box(bare, machine).bounds == (-10, 0, 90, 80)
    on_parts = artwork(shape(square(0, 0, 4)), page=page, parts=[part, area_of(box(20, 0, 30, 10))])
    assert field_box(on_parts, machine).bounds == (-35, -35, 65, 45)
    given = Machine(field=(100, 80), field_origin=(-5, 1))
    assert field_box(on_parts, given).bounds == (5, 21, 105, 101)
