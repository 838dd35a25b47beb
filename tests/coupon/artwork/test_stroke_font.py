"""The single-stroke font: each character in its box, unlike all others; what it cannot write."""

from __future__ import annotations

from itertools import combinations

import pytest
import shapely
from shapely import box

from preprocess.coupon.artwork.stroke_font import letterable, lettering_width, stroke_lettering

CHARACTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-"


def test_each_character_fills_a_box_of_two_by_three_and_is_unlike_all_others():
    drawn = {one: stroke_lettering(one, 3.0) for one in CHARACTERS}
    assert all(box(0, 0, 2, 3).covers(lines) for lines in drawn.values())
    assert all(drawn[one].bounds[1::2] == (0, 3) for one in CHARACTERS if one != "-")
    for one, other in combinations(CHARACTERS, 2):
        apart = shapely.hausdorff_distance(drawn[one], drawn[other], densify=0.05)
        assert apart > 0.3, (one, other)


@pytest.mark.parametrize(
    ("name", "scored"),
    [
        ("fern", "FERN"),
        ("löwen_zahn-2", "LOWEN ZAHN-2"),
        ("  moth (final!)  ", "MOTH FINAL"),
        ("羊歯", ""),
    ],
)
def test_a_name_is_written_in_the_letters_that_there_are(name, scored):
    assert letterable(name) == scored


def test_a_space_takes_the_room_of_a_letter():
    assert lettering_width("A B", 3.0) == lettering_width("ABC", 3.0) == 8
    assert stroke_lettering("A B", 3.0).bounds == (0, 0, 8, 3)
