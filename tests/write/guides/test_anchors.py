"""Anchors: every file of a set-up has one box about the part, read from the written SVG."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from preprocess.coupon.design.define import define
from preprocess.coupon.paper.files import coupon_files
from preprocess.jig import make_jig
from preprocess.pipeline import convert, make_overlay, make_sheet
from preprocess.recipe.load import recipe_from_mapping
from tests import written_svg as written

NEAR = 0.01
"""mm by which the boxes of two files may lie apart about the part."""

LABEL = b"""<svg xmlns="http://www.w3.org/2000/svg" width="70mm" height="50mm" viewBox="0 0 70 50">
<path id="edge" d="M6 4 H56 L62 12 V39 H6 Z" fill="none" stroke="#f00" stroke-width="0.1"/>
<path id="leaf" d="M12 30 Q24 8 40 14 Q30 30 12 30 Z"/>
<path id="seed" d="M44 20 q3 -4 6 0 q-3 4 -6 0 Z"/>
</svg>"""
"""Part 6…62 × 4…39: its middle (34, 21.5) is not that of the page, nor of the art."""

FIELD = {"name": "bench galvo", "field": ["120 mm", "90 mm"], "spot": "0.06 mm"}
NO_FIELD = {"name": "bench galvo", "spot": "0.06 mm"}
TRAY_FIELD = {**FIELD, "field": ["220 mm", "200 mm"]}

BARS = {"equalize-width": {"clearance": "2 mm", "bar": "0.6 mm"}}
REMARK = {"keep-only": {"only": {"select": "#seed"}}}
MIRROR = {"place": {"mirror": True}}
TRAY = {"place": {"copies": [2, 3], "spacing": ["70 mm", "50 mm"]}}


def loaded(*passes, machine=FIELD, anchors=None):
    return recipe_from_mapping(
        {
            "recipe": 1,
            "machine": machine,
            "part": {"outline": "#edge"},
            "settings": {
                "engrave": {
                    "power": "40 %", "speed": "600 mm/s", "pitch": "0.1 mm", "angle": "0 deg",
                },
                "score": {"power": "20 %", "speed": "200 mm/s"},
            },
            "anchors": {"part": True} if anchors is None else anchors,
            "passes": list(passes),
        }
    )  # fmt: skip


def converted(*passes, **more):
    return convert(loaded(*passes, **more), LABEL, "leaf.svg")


def box_of(layers) -> np.ndarray:
    """Left, top, right, bottom of all points of some layers, mm."""
    points = np.concatenate([layer.points for layer in layers])
    return np.concatenate([points.min(axis=0), points.max(axis=0)])


def middle(box: np.ndarray) -> np.ndarray:
    return (box[:2] + box[2:]) / 2


def box_about_part(data: bytes, part: str = "part-outline") -> tuple[np.ndarray, np.ndarray]:
    """Size of the file's box, and the way from the part's middle to the middle of that box."""
    _, layers = written.read(data)
    whole = box_of(layers)
    own = box_of([layer for layer in layers if layer.title == part])
    return whole[2:] - whole[:2], middle(whole) - middle(own)


def jig_of(*passes, **more):
    recipe = loaded(*passes, **more)
    result = convert(recipe, LABEL, "leaf.svg")
    return make_jig(result.after, recipe.bench, recipe.options.settings).data


def coupon_of(machine=FIELD):
    recipe = loaded(machine=machine)
    made = define("row-span", recipe.bench, plate=(60.0, 40.0), settings=recipe.recipe.settings)
    files = coupon_files(made, Path("c.svg"), recipe.own_marks.anchors)
    return files.data[Path("c.svg")]


def files_of(machine):
    return {
        "job": converted("merge", BARS, machine=machine).data,
        "re-mark": converted("merge", BARS, REMARK, machine=machine).data,
        "mirrored": converted(MIRROR, "merge", BARS, machine=machine).data,
        "without bars": converted("merge", machine=machine).data,
    }


def test_with_a_field_all_files_have_the_same_box_about_the_part() -> None:
    files = {
        **{name: (data, "part-outline") for name, data in files_of(FIELD).items()},
        "jig": (jig_of("merge", BARS), "windows"),
        "coupon": (coupon_of(), "part-outline"),
    }
    for name, (data, part) in files.items():
        size, away = box_about_part(data, part)
        # 1 mm within the field of 120 × 90 mm, which is centred on the part
        assert size == pytest.approx((118.0, 88.0), abs=NEAR), name
        assert away == pytest.approx((0.0, 0.0), abs=NEAR), name


def test_a_tray_has_its_box_in_the_middle_of_all_parts() -> None:
    for data, part in (
        (converted(TRAY, "merge", machine=TRAY_FIELD).data, "part-outline"),
        (jig_of(TRAY, "merge", machine=TRAY_FIELD), "windows"),
    ):
        size, away = box_about_part(data, part)
        assert size == pytest.approx((218.0, 198.0), abs=NEAR)
        assert away == pytest.approx((0.0, 0.0), abs=NEAR)


def test_without_a_field_the_box_is_that_of_the_part_and_10_mm() -> None:
    files = {name: (data, "part-outline") for name, data in files_of(NO_FIELD).items()}
    files["jig"] = (jig_of("merge", BARS, machine=NO_FIELD), "windows")
    for name, (data, part) in files.items():
        size, away = box_about_part(data, part)
        assert size == pytest.approx((56 + 20, 35 + 20), abs=NEAR), name
        assert away == pytest.approx((0.0, 0.0), abs=NEAR), name


def test_a_place_of_the_field_stays_though_the_page_grows() -> None:
    # the field's corner lies 20 mm left and 15 mm above the page: its middle is (40, 30)
    machine = {**FIELD, "field_origin": ["-20 mm", "-15 mm"]}
    for data, part in (
        (converted("merge", machine=machine).data, "part-outline"),
        (jig_of("merge", machine=machine), "windows"),
    ):
        size, away = box_about_part(data, part)
        assert size == pytest.approx((118.0, 88.0), abs=NEAR)
        assert away == pytest.approx((40 - 34, 30 - 21.5), abs=NEAR)


def test_without_anchors_a_re_mark_would_lie_elsewhere() -> None:
    """The fault that anchors are for: the box of a re-mark is another one."""
    boxes = [
        box_of(written.read(converted("merge", *more, anchors=False).data)[1])
        for more in ((), (REMARK,))
    ]
    assert np.abs(middle(boxes[0]) - middle(boxes[1])).max() > 10


def test_guides_take_a_grey_and_leave_the_colours_of_what_is_marked() -> None:
    plain = written.read(converted("merge", anchors=False).data)[1]
    held = written.read(converted("merge").data)[1]
    assert [layer.title for layer in held] == ["artwork", "anchors", "part-outline"]
    assert held[0].colour == plain[0].colour
    assert len({layer.colour for layer in held}) == 3


def test_the_note_says_where_the_box_belongs() -> None:
    (told,) = (f for f in converted("merge").findings if f.code == "offset-to-part")
    assert told.message == "the middle of the file's box belongs on the middle of the part"
    result = converted(REMARK, anchors=False)
    (told,) = (f for f in result.findings if f.code == "offset-to-part")
    # the seed 44…50 × 18…22 (quadratics reach half their control point): middle (47, 20);
    # the part's is (34, 21.5)
    assert told.message == (
        "the middle of the file's box belongs 13 mm right of and 1.5 mm above that of the part"
    )


def test_scored_anchors_take_the_least_power_off_the_part_and_inside_the_field() -> None:
    machine = {**FIELD, "power": {"from": "3 %", "to": "100 %", "step": "1 %"}}
    result = converted("merge", machine=machine, anchors={"lines": "score"})
    (layer,) = (layer for layer in result.after.layers if layer.name == "anchors")
    (settings,) = layer.settings.values()
    assert (settings.power, settings.speed) == (0.03, 200.0)
    _, layers = written.read(result.data)
    points = layers[-1].points
    assert layers[-1].title == "anchors"
    # part 34 ± 28 × 21.5 ± 17.5, its middle that of the field and so of the file's box
    away = np.abs(points - middle(box_of(layers)))
    assert ((away[:, 0] > 28) | (away[:, 1] > 17.5)).all()
    assert (away <= (60.0, 45.0)).all()
    (told,) = (f for f in result.findings if f.code == "anchors")
    assert "matt card" in told.remedy


def stops(result) -> list[str]:
    return [f.code for f in result.findings if f.severity == "stop"]


def test_scored_anchors_never_cross_a_part() -> None:
    tight = {**FIELD, "field": ["58 mm", "37 mm"]}
    assert stops(converted("merge", machine=tight, anchors={"lines": "score"})) == [
        "anchors-in-the-way"
    ]
    # as guides nothing is marked there
    assert not stops(converted("merge", machine=tight))


def test_what_reaches_beyond_the_anchors_stops() -> None:
    result = converted("merge", BARS, machine=NO_FIELD, anchors={"beyond": "2 mm"})
    assert stops(result) == ["beyond-the-anchors"]
    (told,) = (f for f in result.findings if f.code == "beyond-the-anchors")
    # bars end 2.6 mm outside the part: 0.6 mm beyond the anchors
    assert "0.60 mm" in told.message


def test_without_part_and_field_there_is_no_place_for_anchors() -> None:
    recipe = recipe_from_mapping({"recipe": 1, "anchors": True, "passes": []})
    assert stops(convert(recipe, LABEL, "leaf.svg")) == ["anchors-without-place"]


def test_the_machine_file_can_ask_for_them_and_a_recipe_refuse() -> None:
    said = {"recipe": 1, "machine": {**FIELD, "anchors": True}}
    assert recipe_from_mapping(said).own_marks.anchors is not None
    assert recipe_from_mapping({**said, "anchors": False}).own_marks.anchors is None


def test_rows_on_the_grid_of_the_page_stay() -> None:
    machine = {**FIELD, "first_row": "page"}
    heights = []
    for anchors in (False, {"part": True}):
        size, layers = written.read(converted("merge", machine=machine, anchors=anchors).data)
        heights.append((layers[0].points[:, 1].min() % 0.1, size[1]))
    assert heights[1][1] > heights[0][1]
    assert heights[0][0] == pytest.approx(heights[1][0], abs=2e-4)


AROUND = "corners at 2.0, 1.0 mm and 66.0, 44.0 mm from the upper left corner of the page"
"""Anchors at 2…66 × 0…43; the page keeps its middle (35, 25) and 1 mm around: 0…70 × -1…51."""

FAR = "corners at 1.0, 1.0 mm and 219.0, 199.0 mm from the upper left corner of the page"
"""Anchors at -75…143 × -77.5…120.5, so the page begins at -76, -78.5."""


@pytest.mark.parametrize(
    ("machine", "told", "hidden"), [(NO_FIELD, AROUND, False), (TRAY_FIELD, FAR, True)]
)
def test_overlay_and_sheet_tell_of_the_anchors(machine, told, hidden):
    recipe = loaded(machine=machine, anchors={"beyond": "4 mm"})
    result = convert(recipe, LABEL, "leaf.svg")
    overlay, sheet = make_overlay(result, "leaf.svg"), make_sheet(result, recipe, "leaf.svg")
    for page in (overlay, sheet):
        assert f"anchors of the file: {told}, not marked" in words_of(page)
    beyond = "not marked; outside this picture" in words_of(sheet)
    assert beyond == hidden


def words_of(page: bytes) -> str:
    return " ".join(re.sub("<[^>]+>", " ", page.decode()).split())
