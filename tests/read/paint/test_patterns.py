"""A pattern that cannot be drawn gives way to the fallback of the paint, as renderers agree."""

import pytest

from tests.comparing.agreement import agreement
from tests.comparing.flat import Flat
from tests.comparing.ours import drawn
from tests.read.reading import painted, read_sheet, sheet

SEED = '<circle cx="5" cy="5" r="2"/>'
BED = '<rect x="10" y="10" width="60" height="40" fill="url(#seeds) lime"/>'
STEM = '<path d="M10 20H70" stroke-width="8" stroke="url(#seeds) lime"/>'
UNITS = 'patternUnits="userSpaceOnUse"'

GIVES_WAY = {
    "no_size": (f'<pattern id="seeds">{SEED}</pattern>{BED}', 2400),
    "no_height": (f'<pattern id="seeds" {UNITS} width="9" height="0">{SEED}</pattern>{BED}', 2400),
    "no_children": (f'<pattern id="seeds" {UNITS} width="9" height="9"/>{BED}', 2400),
    "share_of_a_flat_box": (
        f'<pattern id="seeds" width="1" height="1">{SEED}</pattern>{STEM}',
        480,
    ),
}


@pytest.mark.parametrize("name", GIVES_WAY)
def test_the_fallback_is_painted(name):
    body, area = GIVES_WAY[name]
    reading, renderer = read_sheet(body), Flat()
    assert painted(reading).area == pytest.approx(area)
    theirs = renderer.text(sheet(body).decode())
    ours = renderer.text(drawn(reading.artwork, theirs.shape[::-1], 1.0))
    assert agreement(ours, theirs).holds(0.99, strict=False)


def test_a_view_box_without_width_gives_way():
    """Chromium paints the fallback; resvg draws the seeds."""
    seeds = f'<pattern id="seeds" {UNITS} width="9" height="9" viewBox="0 0 0 9">{SEED}</pattern>'
    assert painted(read_sheet(seeds + BED)).area == pytest.approx(2400)


def test_a_pattern_of_nothing_paints_nothing():
    seeds = f'<pattern id="seeds" {UNITS} width="9" height="9"><g/></pattern>'
    assert not read_sheet(seeds + BED).artwork.shapes
