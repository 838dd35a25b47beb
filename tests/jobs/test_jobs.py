"""Whole designs, end to end, against facts that were worked out by hand."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from ruamel.yaml import YAML

from preprocess.marking.evenness.objective import objective_of_artwork
from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.model.artwork.settings import Operation
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.fern_ways import WAYS, row
from tests.written_layers import read_back_shapes

JOBS = Path(__file__).parents[2] / "fixtures" / "jobs"
RECIPES = sorted(path for path in JOBS.glob("*/*.yaml") if "passes:" in path.read_text("utf-8"))
FLATTENING = 0.005
"""Tolerance of the recipes, mm: areas may differ by this times the outline."""

SHORTENING = 2e-4
"""Share by which chords of height 0.005 over 0.6 mm are shorter than their arcs: 8/3 (h / c)²."""


def facts(job: str) -> dict:
    return YAML(typ="safe").load(JOBS / job / "facts.yaml")


def run(name: str):
    loaded = load_recipe(JOBS / f"{name}.yaml")
    return convert(loaded, loaded.design.read_bytes(), loaded.design.name), loaded


@pytest.fixture(scope="module")
def fern():
    return run("fern/fern")


@pytest.fixture(scope="module")
def barred():
    return run("fern/fern-with-bars")


@pytest.fixture(scope="module")
def together():
    return run("moth/moth-together")


@pytest.fixture(scope="module")
def apart():
    return run("moth/moth-apart")


def engraved(artwork, layer: str):
    return [s for s in artwork.shapes_of(layer) if s.is_engraved_area]


def close_to(area: float, geometry) -> bool:
    """Chords lie within the tolerance of the drawn curves, on either side of them."""
    return abs(geometry.area - area) < FLATTENING * geometry.length


def test_the_drawings_are_what_their_scripts_draw() -> None:
    for job in ("fern", "moth"):
        drawn = subprocess.run(
            [sys.executable, str(JOBS / job / "draw.py")], capture_output=True, check=True
        ).stdout
        assert drawn == (JOBS / job / f"{job}.svg").read_bytes()


def test_fern_as_read(fern) -> None:
    result, _ = fern
    want, before = facts("fern"), result.before
    assert len(engraved(before, "frond")) == want["leaflets"]["count"]
    leaves = shapely.MultiPolygon([p for s in engraved(before, "frond") for p in s.geometry.geoms])
    assert close_to(want["leaflets"]["area"], leaves)
    veins = before.shapes_of("veins")
    assert len(veins) == want["veins"]["count"]
    for layer in ("veins", "name"):
        found = sum(s.geometry.length for s in before.shapes_of(layer))
        assert 0 <= want[layer]["length"] - found < SHORTENING * want[layer]["length"], layer
    assert close_to(want["label"]["area"], before.parts[0])
    x0, _, x1, _ = before.parts[0].bounds
    assert x1 - x0 == pytest.approx(want["label"]["width"], abs=1e-6)


def rounds(artwork, machine) -> list[int]:
    """Which of four rows, counted from those of the first sweep, most rows of each sweep are."""
    groups = [s for s in plan_of(artwork, machine).steps if isinstance(s, RasterGroup)]
    top = min(group.first for group in groups)
    rows = [np.rint((row_spans(group).v - top) / 0.1).astype(int) % 4 for group in groups]
    most = [int(np.bincount(one, minlength=4).argmax()) for one in rows]
    return [(one - most[0]) % 4 for one in most]


def test_fern_in_rounds(fern) -> None:
    result, loaded = fern
    want = facts("fern")
    assert result.data is not None, result.findings
    areas = engraved(result.after, "frond")
    assert [s.level for s in areas] == [1, 2, 3, 4]
    assert rounds(result.after, loaded.machine) == [0, 2, 1, 3]
    removed = sum(
        c.removed.area for name, changes in result.ledger for c in changes if name == "inset-tips"
    )
    left = sum(s.geometry.area for s in areas)
    outline = shapely.union_all([s.geometry for s in areas]).length
    assert left + removed == pytest.approx(want["frond"]["area"], abs=FLATTENING * outline)


def test_the_fern_keeps_its_promise(fern) -> None:
    """Worst place within 4 %, at most 15 s, at most four colours for the frond."""
    result, _ = fern
    found = objective_of_artwork(result.after, result.bench)
    assert found.likely.hot <= 1.04
    assert found.likely.cold >= 0.96
    assert found.time <= 15
    assert len({s.level for s in engraved(result.after, "frond")}) <= 4


def test_fern_with_bars(barred) -> None:
    """Short rows get bars, long ones none, and no place is hotter than the promise."""
    result, loaded = barred
    want = facts("fern")
    assert result.data is not None, result.findings
    (frond,) = engraved(result.after, "frond")
    assert close_to(want["frond"]["area"] - 1.7947, frond.geometry)  # less what inset-tips took
    left, _, right, _ = result.after.parts[0].bounds
    bars = shapely.get_parts(frond.bars)
    assert all(b.bounds[2] <= left - 2 + 1e-6 or b.bounds[0] >= right + 2 - 1e-6 for b in bars)
    (group,) = (
        s for s in plan_of(result.after, loaded.machine).steps if isinstance(s, RasterGroup)
    )
    spans = row_spans(group)
    wide = spans.span > want["label"]["width"]
    assert 0 < wide.mean() < 0.5
    bare = row_spans(replace(group, area=frond.geometry))
    longer = np.isin(bare.row, spans.row[wide])
    assert bare.span[~longer].min() > bare.span[longer].max() - 1e-6
    assert objective_of_artwork(result.after, result.bench).likely.hot <= 1.055


def test_the_fern_is_in_as_many_pieces_as_drawn_before_it_is_cut_into_zones(fern) -> None:
    result, _ = fern
    whole = shapely.union_all([s.geometry for s in engraved(result.after, "frond")])
    assert shapely.get_num_geometries(whole) == facts("fern")["frond"]["pieces"]


def test_moth_as_read(together) -> None:
    before, want = together[0].before, facts("moth")
    assert close_to(want["label"]["area"], before.parts[0])
    assert len(before.shapes_of("lines")) == want["lines"]["count"]
    shapes = {s.id: s.geometry for s in engraved(before, "moth")}
    dots = [shape for name, shape in shapes.items() if "dot-" in name]
    assert len(dots) == want["dots"]["count"]
    for area, of_them in (
        (want["dots"]["area"], dots),
        (want["eyes"]["area"], [shape for name, shape in shapes.items() if "eye-" in name]),
        *((want["body"][part], [shapes[part]]) for part in ("abdomen", "thorax", "head")),
    ):
        assert close_to(area, shapely.MultiPolygon([p for s in of_them for p in s.geoms]))


def test_the_moth_is_the_same_on_both_sides(together) -> None:
    before = together[0].before
    drawn = [s.geometry for s in engraved(before, "moth") if "letter" not in s.id]
    moth = shapely.union_all(drawn)
    mirrored = shapely.affinity.affine_transform(moth, (-1, 0, 0, 1, 64, 0))
    assert moth.symmetric_difference(mirrored).area < 1e-3


def test_moth_together(together) -> None:
    result, loaded = together
    want = facts("moth")
    assert result.data is not None, result.findings
    whole = shapely.union_all([s.geometry for s in engraved(result.after, "moth")])
    above = shapely.MultiPolygon([p for p in whole.geoms if p.bounds[1] < 45 - 1e-6])
    below = shapely.MultiPolygon([p for p in whole.geoms if p.bounds[1] >= 45 - 1e-6])
    assert shapely.get_num_geometries(above) == want["moth"]["pieces"]
    assert close_to(want["moth"]["area"], above)
    assert shapely.get_num_geometries(below) == want["name"]["letters"]
    assert close_to(want["name"]["area"], below)
    assert rounds(result.after, loaded.machine) == [0, 2, 1, 3]


def test_moth_apart(apart) -> None:
    result, _ = apart
    want = facts("moth")
    assert result.data is not None, result.findings
    pieces = engraved(result.after, "moth")
    assert len(pieces) == want["moth"]["pieces"]
    assert sum(s.geometry.area for s in pieces) == pytest.approx(want["moth"]["area"], rel=0.01)
    assert not engraved(result.after, "name")
    outlines = [s for s in result.after.shapes_of("name") if s.operation is Operation.SCORE]
    assert len(outlines) == want["name"]["letters"]
    (straight,) = [s.geometry.length for s in outlines if s.id == "letter-L"]
    assert straight == pytest.approx(want["name"]["outline_of_l"], abs=1e-5)


@pytest.mark.parametrize("recipe", RECIPES, ids=lambda path: path.stem)
def test_the_committed_output_is_what_the_recipe_makes(recipe: Path) -> None:
    loaded = load_recipe(recipe)
    result = convert(loaded, loaded.design.read_bytes(), loaded.design.name)
    kept = read_back_shapes((recipe.parent / f"{recipe.stem}.laser.svg").read_bytes())
    made = read_back_shapes(result.data)
    assert list(kept) == list(made)
    for layer in kept:
        one, other = (shapes[layer] for shapes in (kept, made))
        grid = 0.5 * 10**-loaded.options.drawing.decimals
        if one.area:
            assert one.symmetric_difference(other).area <= grid * one.length
        else:
            assert one.hausdorff_distance(other) <= 4 * grid


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.name)
def test_the_readme_sets_ways_side_by_side(way) -> None:
    readme = (JOBS.parents[1] / "README.md").read_text("utf-8")
    assert row(way) in readme.splitlines()
