"""Uses are counted before anything is drawn; too many are refused with the place."""

import pytest

from preprocess.errors import UserError
from preprocess.model.options.limits import DrawingLimits
from tests.read.reading import codes, read_sheet

SEED = '<rect id="l0" width="1" height="1"/>'


def garden(levels, each, around="{}"):
    """Each level holds so many uses of the one before; one use draws the last."""
    beds = "".join(
        f'<g id="l{i + 1}">' + f'<use href="#l{i}"/>' * each + "</g>" for i in range(levels)
    )
    return f"<defs>{SEED}{beds}</defs>\n" + around.format(f'<use id="all" href="#l{levels}"/>')


def refusal(body, copies):
    with pytest.raises(UserError) as caught:
        read_sheet(body, limits=DrawingLimits(copies=copies))
    (complaint,) = caught.value.complaints
    assert "limits: copies" in complaint.remedy
    assert complaint.place.line == 2
    return complaint.found


def test_elements_are_counted_through_all_levels():
    """Two levels of three: 9 squares, 9 and 3 uses of them, 3 groups, and the outer group: 25."""
    assert refusal(garden(2, 3), 24) == (
        "uses would draw 25 elements, most of them all; 24 are allowed"
    )
    assert len(read_sheet(garden(2, 3), limits=DrawingLimits(copies=25)).artwork.shapes) == 9


def test_seventeen_levels_of_nine_are_refused_at_once():
    assert refusal(garden(17, 9), 200_000).startswith("uses would draw over 1000000000 elements")


@pytest.mark.parametrize("holder", ["mask", "clipPath", "marker", "pattern"])
def test_uses_in_resources_count_too(holder):
    assert "over 1000000000" in refusal(garden(17, 9, f"<{holder}>{{}}</{holder}>"), 200_000)


def test_what_is_not_displayed_does_not_count():
    hidden = garden(17, 9, '<g display="none">{}</g>')
    assert read_sheet(hidden + '<rect width="1" height="1"/>').artwork.shapes


def test_uses_in_a_circle_are_told_as_such():
    body = '<g id="moth"><use href="#fern"/></g><g id="fern"><use href="#moth"/></g>' + SEED
    assert codes(read_sheet(body)) == {"use-cycle"}


def test_patterns_within_patterns_count_before_all_tiles_are_drawn():
    """Six levels of sixteen tiles in each tile would be more than 10^8."""
    sides = [10 / 4**i for i in range(7)]
    beds = "".join(
        f'<pattern id="p{i}" width="{side}" height="{side}" patternUnits="userSpaceOnUse">'
        f'<rect width="{side}" height="{side}" fill="url(#p{i + 1})"/></pattern>'
        for i, side in enumerate(sides)
    )
    body = f'{beds}<rect width="100" height="100" fill="url(#p0)"/>'
    reading = read_sheet(body, limits=DrawingLimits(tiles=500))
    assert "pattern-cap" in codes(reading)
    assert sum(shape.geometry.area for shape in reading.artwork.shapes) == pytest.approx(100**2)
