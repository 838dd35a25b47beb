"""Text as outlines: areas and places worked out by hand from the letters of `lettering`."""

import math

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from preprocess.model.options.fonts import Fonts
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from tests.read.lettering import ALEF, AREAS, BET, folder_of_fonts
from tests.read.reading import FIXTURES, codes, painted, read_sheet

T = 'font-family="Fern Test" font-size="10"'
U = 1e-4
"""mm² in a square unit of a font of 10 mm."""

FERN = sum(AREAS[one] for one in "fern") * U
"""Width 4 + 5 + 4 + 5, less 1 between r and n: 17; ink from 1 to 16.5."""

# fixture, area in mm², box of the ink in mm, findings
LETTERING = {
    "plain": (FERN, (11, 43, 26.5, 50), set()),
    "anchor_middle": (FERN, (42.5, 43, 58, 50), set()),
    "anchor_end": (FERN, (74, 43, 89.5, 50), set()),
    "ligature": (3.5 * 7, (11, 43, 14.5, 50), set()),
    # Apart: f from 11 to 13, then 4 + 2 on, i from 17 to 18.
    "letter_spacing": (2 * 7 + 1 * 5, (11, 43, 18, 50), set()),
    # 4 + 3 + 5 on.
    "word_spacing": (2 * 14, (11, 43, 25, 50), set()),
    # f at (10, 50); e at (40, 60); e 5 further than it would be, at 50; n at 55 and 10 higher.
    "lists": (14 + 16 + 16 + 20, (11, 43, 59.5, 60), set()),
    # Up becomes right, right becomes down.
    "rotated": (14, (50, 51, 57, 53), set()),
    # e of twice the size 10 lower, from 14 + 1 to 14 + 9; n goes on at 24, 10 lower too.
    "tspans": (14 + 64 + 20, (11, 43, 28.5, 60), set()),
    # One space is left between f and e: e begins at 10 + 4 + 3.
    "spaces": (14 + 16, (11, 43, 21.5, 50), set()),
    # Three spaces of 3.
    "spaces_kept": (14 + 16, (14, 43, 27.5, 50), set()),
    "overlapping_letters": (AREAS["m"] * U, (10, 44, 17, 50), set()),
    "hole": (AREAS["o"] * U, (10.5, 45, 15.5, 50), set()),
    # From the right: alef in 90 … 84, bet in 84 … 80.
    "right_to_left": (15 + 15, (80.5, 44, 89.5, 50), set()),
    # f, then bet in 14 … 18, alef in 18 … 24, then e.
    "both_directions": (14 + 15 + 15 + 16, (11, 43, 28.5, 50), set()),
    # f and 1, then n in 15 … 20 and e in 21 … 26.
    "turned_by_an_element": (14 + 20 + 16, (11, 43, 25.5, 50), set()),
    "on_a_straight_path": (FERN, (11, 43, 26.5, 50), set()),
    # From 10 + 20 down, and up is right.
    "on_a_path_down": (14, (50, 31, 57, 33), set()),
    "in_the_middle_of_a_path": (FERN, (42.5, 43, 58, 50), set()),
    # The middle of r is at 9 + 1.5, beyond 10.
    "beyond_its_path": (14 + 16, (11, 43, 18.5, 50), {"text-beyond-path"}),
    "bold": (14, (12, 43, 14, 50), set()),
    # 300 gives the regular face, bolder 400 the same, bolder once more 700: 1 further right.
    "bolder": (3 * 14, (11, 43, 22, 50), set()),
    "varied": (4 * 7, (11, 43, 15, 50), set()),
    "font_shorthand": (14, (12, 43, 14, 50), set()),
    # The line is at 0.8 of the ascent of 8.
    "baseline": (20, (10.5, 51.4, 14.5, 56.4), set()),
    # Half of ascent and descent up, 3 down.
    "raised": (3 * 20, (10.5, 40, 24.5, 53), set()),
    # 15 mm wide as it is: 7.5 more in each gap.
    "fitted": (16 + 16 + 20, (10.5, 45, 39.5, 50), set()),
    "fitted_wider": (2 * (16 + 16 + 20), (11, 45, 39, 50), set()),
    # A tenth of the size thick, half of that below the baseline, as wide as e leads.
    "underlined": (16 + 5, (10, 46, 15, 51.5), set()),
    "stroked": (5 * 6 - 3 * 4, (10, 44.5, 15, 50.5), set()),
    # Letters fill by the nonzero rule in clips too; the rectangle ends 2 above the baseline.
    "clip": (2 * 5 + 4 * 1 + 4 * 4 - 1 * 1, (11, 43, 21, 48), set()),
    # Once moved; once twice as wide, where the page's x is doubled.
    "used": (14 + 28, (16, 33, 26, 50), set()),
    "in_a_marker": (20, (60.5, 45, 64.5, 50), set()),
    "hidden_letters": (14 + 14, (11, 43, 22, 50), {"hidden"}),
    # The cell is 10 wide and 10 high, from 42 to 52: the clip is 10 … 15, 42 … 47.
    "by_the_box": (4 * 2, (10.5, 45, 14.5, 47), set()),
    "in_capitals": (20, (10.5, 45, 14.5, 50), set()),
    # What is beyond numbers counts as not written.
    "not_a_number": (2 * 14, (11, 43, 17, 50), {"bad-value"}),
    "gone": (100, (0, 0, 10, 10), {"font-missing"}),
    "letter_gone": (100, (0, 0, 10, 10), {"letter-missing"}),
    "down_the_page": (20, (10.5, 45, 14.5, 50), {"text-style-ignored"}),
}


def test_brackets_read_as_what_is_around_them(fonts):
    """As the older rules for directions would not: ( alef bet ) and the 1 stay in their order."""
    whole = painted(read_sheet(f'<text x="0" y="50" {T}>f({ALEF}{BET})1</text>', fonts=fonts))
    lefts = sorted(round(part.bounds[0], 3) for part in whole.geoms)
    # f 0 … 4, ( 4 … 7, bet 7 … 11, alef 11 … 17, ) 17 … 20, 1 from 20.
    assert lefts == [1, 5, 7.5, 11.5, 17.5, 22]


@pytest.fixture(scope="session")
def fonts(tmp_path_factory):
    return Fonts(folder=str(folder_of_fonts(tmp_path_factory.mktemp("fonts"))), installed=False)


@pytest.mark.parametrize("name", LETTERING)
def test_lettering(name, fonts):
    area, box, expected = LETTERING[name]
    reading = read(
        (FIXTURES / "text" / f"{name}.svg").read_bytes(), name, ReadingOptions(fonts=fonts)
    )
    whole = painted(reading)
    assert whole.area == pytest.approx(area, abs=0.002)
    assert whole.bounds == pytest.approx(box, abs=0.002)
    assert codes(reading) - {"text-outlined"} == expected


def test_letters_stand_upright_on_a_circle(fonts):
    """The base of each e touches the circle at its middle, and it stands outwards."""
    circle = '<path id="c" d="M50 20A30 30 0 0 1 50 80A30 30 0 0 1 50 20"/>'
    body = f'<defs>{circle}</defs><text {T}><textPath href="#c">{"e" * 10}</textPath></text>'
    reading = read_sheet(body, fonts=fonts)
    parts = list(painted(reading).geoms)
    assert len(parts) == 10
    for number, part in enumerate(sorted(parts, key=_turn)):
        angle = (number + 0.5) * 5 / 30
        away = 30 + 2
        assert part.centroid.x == pytest.approx(50 + away * math.sin(angle), abs=0.005)
        assert part.centroid.y == pytest.approx(50 - away * math.cos(angle), abs=0.005)
        assert part.area == pytest.approx(16, abs=0.001)


def test_letters_stand_on_a_curve_where_its_length_says(fonts):
    """Browsers put small letters up to a quarter of a px beside; so its length is integrated."""
    body = '<defs><path id="c" d="M10 60Q50 10 90 60"/></defs>'
    words = f'<text {T}><textPath href="#c">{"e" * 9}</textPath></text>'
    parts = sorted(painted(read_sheet(body + words, fonts=fonts)).geoms, key=lambda p: p.centroid.x)
    assert len(parts) == 9
    for number, part in enumerate(parts):
        share = brentq(lambda t, at=number: quad(_speed, 0, t)[0] - (at + 0.5) * 5, 0, 1)
        x, y = 10 + 80 * share, 60 - 100 * share * (1 - share)
        across, down = 80 / _speed(share), -100 * (1 - 2 * share) / _speed(share)
        # The middle of an e is 2 above its base.
        assert part.centroid.x == pytest.approx(x + 2 * down, abs=0.005)
        assert part.centroid.y == pytest.approx(y - 2 * across, abs=0.005)


def _speed(t):
    return math.hypot(80, -100 * (1 - 2 * t))


def _turn(part):
    return math.atan2(part.centroid.x - 50, 50 - part.centroid.y) % (2 * math.pi)


def test_a_span_is_a_shape_of_its_own_and_keeps_its_paint(fonts):
    body = (
        f'<text id="t" x="10" y="50" {T}>f<tspan id="s" class="red" fill="#f00">e</tspan>n</text>'
    )
    first, second = read_sheet(body, fonts=fonts).artwork.shapes
    assert (first.id, first.sources[0].colour) == ("t", "#000000")
    assert (second.id, second.sources[0].colour) == ("s", "#ff0000")
    assert second.geometry.area == pytest.approx(16)


def test_text_that_is_only_spaces_says_nothing(fonts):
    reading = read_sheet(f'<text {T}>  \n </text><rect width="5" height="5"/>', fonts=fonts)
    assert codes(reading) == set()


def test_the_same_drawing_gives_the_same_lettering(fonts):
    body = f'<text x="10" y="50" {T}>fern <tspan font-weight="bold">mo</tspan></text>'
    one, two = (read_sheet(body, fonts=fonts).artwork for _ in range(2))
    assert one == two
