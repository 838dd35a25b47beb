"""What `set` gives at time 0 is drawn, as a browser shows it at first."""

import shutil

import pytest

from tests.comparing.agreement import agreement
from tests.comparing.browser import Browser
from tests.comparing.flat import Flat
from tests.comparing.ours import drawn
from tests.read.reading import painted, read_sheet, sheet

SEED = '<rect id="seed" width="6" height="5"{}>{}</rect>'
SETS = {
    "from_the_start": ('<set attributeName="width" to="9" begin="0s"/>', 45),
    "begin_left_out": ('<set attributeName="width" to="9"/>', 45),
    "among_others": ('<set attributeName="width" to="9" begin="click;0"/>', 45),
    "later": ('<set attributeName="width" to="9" begin="2s"/>', 30),
    "on_a_click": ('<set attributeName="width" to="9" begin="click"/>', 30),
    "the_last_wins": (
        '<set attributeName="width" to="9"/><set attributeName="width" to="7" begin="0ms"/>',
        35,
    ),
    "hidden": ('<set attributeName="visibility" to="hidden" begin="0s"/>', 0),
    "below_the_style": ('<set attributeName="fill" to="none"/>', 30),
    "a_property": ('<set attributeName="opacity" to="0"/>', 0),
}


@pytest.mark.parametrize("name", SETS)
def test_the_picture_at_time_0(name):
    inner, area = SETS[name]
    body = SEED.format(' style="fill:black"', inner)
    assert painted(read_sheet(body)).area == pytest.approx(area)


def test_a_set_may_aim_at_another_element():
    body = SEED.format("", "") + '<set href="#seed" attributeName="height" to="10"/>'
    assert painted(read_sheet(body)).area == pytest.approx(60)


@pytest.mark.skipif(shutil.which("chromium") is None, reason="no Chromium")
def test_a_browser_shows_the_same(tmp_path):
    browser = Browser(shutil.which("chromium"))
    try:
        for name, (inner, _) in SETS.items():
            body = SEED.format(' style="fill:black"', inner)
            path = tmp_path / f"{name}.svg"
            path.write_bytes(sheet(body))
            theirs = browser.file(path, (378, 378), 1.0)
            ours = Flat().text(drawn(read_sheet(body).artwork, (378, 378), 1.0))
            assert agreement(ours, theirs).holds(0.99, strict=False), name
    finally:
        browser.close()
