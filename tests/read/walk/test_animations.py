"""Animations other than `set`: the drawing is read as it stands, and what they change is named."""

from __future__ import annotations

import pytest

from tests.read.reading import painted, read_sheet

SEED = '<rect id="seed" width="6" height="5"{}>{}</rect>'
MOVED = {
    "from another width": '<animate attributeName="width" from="1" to="9" dur="1s"/>',
    "from the first of values": '<animate attributeName="opacity" values="0;1" dur="1s"/>',
    "turned": '<animateTransform attributeName="transform" type="rotate" from="30" to="60"/>',
    "along a path": '<animateMotion path="M10 10h5" dur="2s"/>',
    "against a style": '<animate attributeName="fill" from="none" to="black" dur="2s"/>',
}
STILL = {
    "later": '<animate attributeName="width" from="1" to="9" begin="2s" dur="1s"/>',
    "on a click": '<animate attributeName="width" from="1" to="9" begin="click" dur="1s"/>',
    "from its own width": '<animate attributeName="width" from="6" to="9" dur="1s"/>',
    "from its own style": '<animate attributeName="fill" values="black;none" dur="1s"/>',
    "only to": '<animate attributeName="width" to="9" dur="1s"/>',
    "not yet turned": '<animateTransform attributeName="transform" type="rotate" from="0 9 9"/>',
    "at its size": '<animateTransform attributeName="transform" type="scale" values="1;2"/>',
    "along a path from here": '<animateMotion path="M0 0h5" dur="2s"/>',
}


@pytest.mark.parametrize("name", [*MOVED, *STILL])
def test_an_animation_that_begins_otherwise_than_drawn_is_named(name):
    body = SEED.format(' style="fill:black"', {**MOVED, **STILL}[name])
    reading = read_sheet(body)
    assert painted(reading).area == pytest.approx(30)
    told = [one for one in reading.findings if one.code == "animation-ignored"]
    assert [one.elements for one in told] == ([("seed",)] if name in MOVED else [])
