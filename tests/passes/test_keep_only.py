"""keep-only: what is chosen stays to the last digit, and nothing else does."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, MultiPolygon, box

from preprocess.engine.facts import BARRED, POWERED
from preprocess.errors import Refusal
from preprocess.geometry.rows.bars import clip_to_rows
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.passes.keep_only import KeepOnly
from preprocess.passes.merge import Merge
from preprocess.testing import check_pass, read_artwork
from tests.passes.benches import artwork, shape
from tests.passes.strategies import areas, drawn

DOTS = (
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGP4DwABAQEAsTjq7AAAAABJRU5ErkJggg=="
)


def pick(name):
    return Selection(label=name)


def labelled(name, area, **more):
    one = shape(name, area, **more)
    return replace(one, sources=(replace(one.sources[0], label=name),))


def test_the_others_go_and_page_and_layers_stay():
    art = artwork(
        [labelled("a", box(0, 0, 4, 4)), labelled("b", box(8, 0, 9, 9), layer="seeds")],
        [box(0, 0, 60, 40)],
    )
    after = check_pass(KeepOnly(only=pick("b")), art).artwork
    assert after.shapes == (art.shapes[1],)
    assert (after.page, after.layers, after.parts) == (art.page, art.layers, art.parts)


def test_it_says_that_a_repeat_seldom_evens_a_mark():
    art = artwork([labelled("a", box(0, 0, 4, 4)), labelled("b", box(8, 0, 9, 9))])
    repeat, gone = check_pass(KeepOnly(except_=pick("a")), art).findings
    assert repeat.elements == ("b",)
    assert "seldom evens it" in repeat.message
    assert gone.elements == ("a",)


def test_guides_stay_and_alone_are_nothing():
    guide = replace(labelled("help", box(0, 0, 1, 1)), operation=Operation.GUIDE)
    art = artwork([guide, labelled("a", box(0, 0, 4, 4))])
    after = check_pass(KeepOnly(only=pick("a")), art).artwork
    assert [s.id for s in after.shapes] == ["help", "a"]
    with pytest.raises(Refusal, match="nothing of the drawing is chosen"):
        KeepOnly(only=pick("b"))(art, Bench())


def test_lines_of_several_elements_cannot_be_told_apart():
    one = labelled("a", box(0, 0, 1, 1))
    lines = replace(
        one,
        operation=Operation.SCORE,
        geometry=MultiLineString([[(0, 0), (4, 4)]]),
        sources=(*one.sources, replace(one.sources[0], label="b")),
    )
    with pytest.raises(Refusal, match="'a' unites elements"):
        KeepOnly(only=pick("b"))(artwork([lines]), Bench())


def test_pictures_are_kept_by_name_only():
    art, bench = read_artwork(
        '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">'
        f'<image id="photo" x="1" y="1" width="5" height="5" href="data:image/png;base64,{DOTS}"/>'
        '<rect id="leaf" x="10" y="2" width="4" height="6"/></svg>',
        "recipe: 1\npasses:\n"
        "  - keep-only: {only: {select: '#leaf'}}\n  - keep-only: {only: {select: '#photo'}}",
    )
    assert len(art.pictures) == 1
    leaf = check_pass(KeepOnly(only=Selection(select="#leaf")), art, bench)
    assert leaf.artwork.pictures == ()
    assert leaf.findings[1].elements == ("photo",)
    photo = check_pass(KeepOnly(only=Selection(select="#photo")), art, bench).artwork
    assert (photo.pictures, photo.shapes) == (art.pictures, ())


def test_bars_of_a_group_stand_beside_what_is_left_of_it():
    bars = MultiPolygon([box(-5, 0, -4, 4), box(-5, 10, -4, 14)])
    art = artwork(
        [
            replace(labelled("a", box(0, 0, 4, 4)), bars=bars),
            labelled("b", box(0, 10, 4, 12)),
            labelled("c", box(0, 12, 4, 14)),
        ]
    )
    art = replace(art, layers=(replace(art.layers[0], plain_share=1.0),))
    after = check_pass(KeepOnly(only=pick("c")), art).artwork
    assert after.shapes[0].bars.equals(box(-5, 12, -4, 14))
    assert all(fact.holds(after, "fronds") for fact in (BARRED, POWERED))


@pytest.mark.parametrize("angle", [0.0, 90.0, 30.0, 217.0])
def test_bars_are_cut_along_the_rows(angle):
    turn = lambda g: shapely.affinity.rotate(g, -angle, origin=(0, 0))
    bars, area = MultiPolygon([turn(box(-9, -9, -8, 9))]), MultiPolygon([turn(box(-3, 1, 3, 4))])
    found = clip_to_rows(bars, [area], angle)
    assert found.symmetric_difference(turn(box(-9, 1, -8, 4))).area < 1e-9


@settings(max_examples=25)
@given(areas(least=2), st.data())
def test_out_of_a_compound_comes_what_shows_of_an_element(painted, data):
    before = drawn(painted)
    named = [replace(s, sources=(replace(s.sources[0], label=s.id),)) for s in before.shapes]
    before = replace(before, shapes=tuple(named))
    index = data.draw(st.integers(0, len(painted) - 1))
    above = shapely.union_all([s.geometry for s in named[index + 1 :]])
    shows = named[index].geometry.difference(above)
    merged = Merge()(before, Bench()).artwork
    if shows.area < 1e-3:
        return
    (kept,) = check_pass(KeepOnly(only=pick(f"a{index}")), merged).artwork.shapes
    assert kept.geometry.symmetric_difference(shows).area < 4e-6 * 2 * (1 + shows.length)
