"""The card: windows as large as worked out by hand, the datum where the overlay shows it."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from shapely import MultiPolygon, Point, box

from preprocess.errors import Refusal
from preprocess.jig import make_jig
from preprocess.marking.machine.datum import datum_of
from preprocess.model.artwork.artwork import Page
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.pipeline import convert
from preprocess.preview.overlay.overlay import overlay_svg
from preprocess.recipe.load import load_recipe
from tests.labels import fern_label
from tests.written_layers import read_back_shapes

JOBS = Path(__file__).parents[1] / "fixtures" / "jobs"
BENCH = Bench(machine=Machine(field=(120.0, 90.0)))
LABEL = replace(fern_label(), keep_off=())
"""Page 80 × 52; part from (10, 4) to (70, 50), its middle at (40, 27)."""


def made(after=LABEL, bench=BENCH, **more):
    return make_jig(after, bench, {}, **more)


def codes(card) -> set[str]:
    return {finding.code for finding in card.findings}


def test_a_window_is_the_part_and_its_clearance() -> None:
    # a rectangle a × b grown by c all around: a b + 2 (a + b) c + π c²
    (window,) = made(clearance=0.5).artwork.shapes_of("windows")
    wanted = 60 * 46 + 2 * (60 + 46) * 0.5 + math.pi * 0.25
    assert window.geometry.area == pytest.approx(wanted, abs=0.01)
    assert window.geometry.bounds == pytest.approx((9.5, 3.5, 70.5, 50.5))


def test_the_name_of_the_job_is_scored_below_the_window() -> None:
    # four letters 2 mm wide and 1 mm apart, 1.2 mm below a window that ends at 50 + 0.2
    names = [s for s in made(name="fern.svg").artwork.shapes if s.id == "name-1"]
    assert [s.layer for s in names] == ["datum"]
    assert names[0].geometry.bounds == pytest.approx((9.8, 51.4, 20.8, 54.4), abs=0.01)
    low = MultiPolygon([box(0, 51, 30, 60)])
    (above,) = [
        s
        for s in made(replace(LABEL, keep_off=(low,)), name="f").artwork.shapes
        if s.id == "name-1"
    ]
    assert above.geometry.bounds[3] == pytest.approx(3.8 - 1.2, abs=0.01)


def test_a_card_without_room_for_its_name_says_so() -> None:
    tight = Bench(machine=Machine(field=(64.0, 50.0)))
    assert "card-not-named" in codes(made(bench=tight, name="fern.svg"))
    assert "card-not-named" not in codes(made(bench=tight))


def test_a_hole_in_a_part_is_no_window() -> None:
    ring = MultiPolygon([box(10, 4, 70, 50).difference(Point(40, 27).buffer(5))])
    (window,) = made(replace(LABEL, parts=(ring,)), clearance=0.0).artwork.shapes_of("windows")
    assert window.geometry.area == pytest.approx(60 * 46)


def test_the_written_card_lies_in_the_field_with_the_part_in_its_middle() -> None:
    card = made()
    shapes = read_back_shapes(card.data)
    assert set(shapes) == {"datum", "windows"}
    # the field is centred on the part at (40, 27), the page of the output has its middle at
    # (40, 26): it grows to 120 wide, and to 2 · (45 + 1) high
    assert (card.artwork.page.width, card.artwork.page.height) == (120, 92)
    assert shapes["datum"].bounds == pytest.approx((0, 2, 120, 92))
    left, top, right, bottom = shapes["windows"].bounds
    assert ((left + right) / 2, (top + bottom) / 2) == pytest.approx((60, 47))


def test_the_box_of_the_card_is_the_field() -> None:
    (finding,) = [f for f in made().findings if f.code == "card-box"]
    assert "120.00 × 90.00 mm" in finding.message
    assert "0.00 mm right and 0.00 mm down" in finding.message
    moved = Bench(machine=Machine(field=(120.0, 90.0), field_origin=(-10.0, -10.0)))
    # the field's middle is at (50, 35)
    (finding,) = [f for f in made(bench=moved).findings if f.code == "card-box"]
    assert "10.00 mm left and 8.00 mm up" in finding.message


def test_the_datum_lies_in_corners_of_the_field_and_is_scored_as_crosses() -> None:
    points = datum_of(LABEL, BENCH.machine)
    # the field spans (-20, -18) to (100, 72); 4 mm inward
    assert points.points == ((-16, 68), (96, -14))
    assert points.is_field
    crosses = [s.geometry.centroid for s in made().artwork.shapes if s.id.startswith("datum-")]
    assert [(c.x, c.y) for c in crosses] == [pytest.approx(p) for p in points.points]


def test_the_datum_gives_way_to_what_lies_in_the_corner() -> None:
    clip = MultiPolygon([box(90, -20, 100, -10)])
    assert datum_of(replace(LABEL, keep_off=(clip,)), BENCH.machine).points == (
        (-16, -14),
        (96, 68),
    )
    full = replace(LABEL, parts=(MultiPolygon([box(-20, -18, 100, 72)]),))
    assert not datum_of(full, BENCH.machine).clear


def test_without_a_field_the_page_has_the_corners() -> None:
    wide = replace(LABEL, page=Page(width=100.0, height=80.0, left=-10.0, top=-14.0))
    card = made(wide, Bench())
    assert "datum-on-page" in codes(card)
    assert not card.datum.is_field
    assert card.datum.points == ((-6, 62), (86, -10))


@pytest.mark.parametrize("job", ["fern/fern", "moth/moth-together"])
def test_overlay_and_card_show_the_same_datum(job: str) -> None:
    loaded = load_recipe(JOBS / f"{job}.yaml")
    result = convert(loaded, loaded.design.read_bytes(), "design")
    card = make_jig(result.after, result.bench, loaded.options.settings)
    overlay = overlay_svg(
        result.before, result.after, machine=result.bench.machine_or_default
    ).decode()
    page = result.after.page
    for x, y in card.datum.points:
        place = f"{x - page.left:.1f}, {y - page.top:.1f} mm"
        assert place.replace("-", "−") in overlay  # as a person reads a minus sign


def test_bars_over_a_window_are_told() -> None:
    assert "bar-over-window" not in codes(made(clearance=0.2))
    near = replace(LABEL, parts=(MultiPolygon([box(5.7, 4, 74.3, 50)]),))
    assert "bar-over-window" in codes(made(near, clearance=0.2))


def test_a_window_beyond_the_field_stops() -> None:
    card = made(bench=Bench(machine=Machine(field=(60.2, 60.0))))
    assert "off-the-field" in codes(card)
    assert card.data is None


def test_a_window_through_a_clip_stops() -> None:
    clip = MultiPolygon([box(69, 20, 75, 30)])
    assert "on-keep-off" in codes(made(replace(LABEL, keep_off=(clip,))))


def test_near_windows_and_high_parts_are_told() -> None:
    two = (MultiPolygon([box(10, 4, 39.5, 50)]), MultiPolygon([box(40.5, 4, 70, 50)]))
    assert "narrow-card" in codes(made(replace(LABEL, parts=two)))
    high = replace(BENCH, parts=(Part(outline=(60.0, 46.0), height=12.0),))
    assert "card-below-the-mark" in codes(made(bench=high))
    assert {"narrow-card", "card-below-the-mark"}.isdisjoint(codes(made()))


def test_cautions_are_always_told() -> None:
    assert {"card-cautions", "card-stays-put"} <= codes(made())


def test_without_a_part_there_is_no_card() -> None:
    with pytest.raises(Refusal, match="names no part"):
        made(replace(LABEL, parts=()))


def test_parts_that_touch_share_a_window() -> None:
    two = (MultiPolygon([box(10, 4, 39.9, 50)]), MultiPolygon([box(40.1, 4, 70, 50)]))
    windows = made(replace(LABEL, parts=two)).artwork.shapes_of("windows")
    assert len(windows) == 1
    assert shapely.union_all(two).area < windows[0].geometry.area


def evenmark(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "preprocess", "jig", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_the_command(tmp_path: Path) -> None:
    out = tmp_path / "card.svg"
    recipe = str(JOBS / "fern" / "fern.yaml")
    done = evenmark(recipe, "-o", str(out), "--clearance", "0.3 mm")
    assert done.returncode == 0, done.stderr
    assert "may burn" in done.stderr
    left, _, right, _ = read_back_shapes(out.read_bytes())["windows"].bounds
    assert right - left == pytest.approx(84.6, abs=0.001)
    assert evenmark(recipe, "-o", str(out), "--clearance", "0.3").returncode == 2
    assert evenmark(recipe, "-o", recipe).returncode == 1


def test_the_command_without_a_part(tmp_path: Path) -> None:
    (tmp_path / "seed.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
        '<path d="M1 1h3v3z"/></svg>'
    )
    (tmp_path / "seed.yaml").write_text("recipe: 1\ndesign: seed.svg\npasses: []\n")
    done = evenmark(str(tmp_path / "seed.yaml"))
    assert done.returncode == 1
    assert "names no part" in done.stderr
    assert not (tmp_path / "seed.jig.svg").exists()
