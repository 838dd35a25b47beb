"""Paint in almost the colour of the page: told with the recipe line that takes it for the page."""

import re

import pytest

from preprocess.findings import Severity
from preprocess.model.artwork.artwork import Drawing
from tests.read.reading import codes, painted, read_sheet

LEAF = '<rect width="20" height="20"/><rect id="hole" width="10" height="10" fill="{}"/>'


@pytest.mark.parametrize(
    ("colour", "share"), [("#feffff", 1), ("#fafafa", 2), ("#fffff0", 6), ("#fefefe", 1)]
)
def test_near_white_is_a_warning_with_the_share_that_helps(colour, share):
    reading = read_sheet(LEAF.format(colour))
    assert painted(reading).area == pytest.approx(400)
    (finding,) = [f for f in reading.findings if f.code == "nearly-page-colour"]
    assert finding.severity is Severity.WARN
    assert colour in finding.message
    assert re.findall(r"page_within: (\d+) %", finding.message) == [str(share)]

    taken = read_sheet(LEAF.format(colour), drawing=Drawing(page_within=share / 100))
    assert painted(taken).area == pytest.approx(400 - 100)
    assert codes(taken) == set()


def test_a_near_white_line_is_taken_too():
    body = '<path id="vein" d="M0 50H90" stroke="#fffffe" fill="none"/>'
    assert "nearly-page-colour" in codes(read_sheet(body))
    assert not read_sheet(body, drawing=Drawing(page_within=0.01)).artwork.shapes


def test_the_share_is_that_of_each_channel():
    """Yellow is nearly as light as white, but no one takes it for white."""
    body = LEAF.format("#ffff00")
    assert painted(read_sheet(body, drawing=Drawing(page_within=0.5))).area == pytest.approx(400)
