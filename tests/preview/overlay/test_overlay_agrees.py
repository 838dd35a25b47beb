"""Notes, ledger and picture agree: areas are measured anew from the paths of the overlay."""

from __future__ import annotations

import math
import re
from math import fsum
from pathlib import Path

import numpy as np
import pytest
import shapely
from lxml import etree

from preprocess.pipeline import convert, make_overlay
from preprocess.preview.drawing.as_drawn import as_placed
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.recipe.load import load_recipe

SVG = "{http://www.w3.org/2000/svg}"
FIXTURES = Path(__file__).parents[3] / "fixtures"
JOBS = [
    (FIXTURES / "jobs" / name / f"{recipe}.yaml", FIXTURES / "jobs" / name / f"{name}.svg")
    for name, recipe in (
        ("fern", "fern"),
        ("moth", "moth-apart"),
        ("moth", "moth-together"),
        ("seed-head", "seed-head"),
    )
]
CASES = [
    (path, path.parent / "in.svg")
    for name in (
        "merge",
        "inset-tips",
        "strokes-to-areas",
        "join-overlaps",
        "tag-power",
        "negative",
    )
    for path in sorted(FIXTURES.glob(f"passes/{name}/*/recipe.yaml"))
    if path.parent.name != "open-contours"  # areas there overlap only once they are closed
]
CHANGES = ("drawn as strokes", "added to", "thin areas", "areas before", "removed", "overlapping")
MARKED_TWICE = re.compile(r"([\d.]+) mm² (?:of \S+ overlapped and )?would have been marked twice")
TIPS = re.compile(r"and lost ([\d.]+) mm²")


GRID = 0.01
"""mm on the sheet: to this paths are written, and curves drawn."""


def region(data):
    """By the even-odd rule: a point counts where an odd number of rings goes round it."""
    found = shapely.MultiPolygon()
    for part in data.split("M")[1:]:
        ring = shapely.polygons(np.array(re.findall(r"(-?[\d.]+)[ ,](-?[\d.]+)", part), float))
        found = found.symmetric_difference(shapely.make_valid(ring))
    return found


def pictured(overlay, page):
    """What each change in the picture covers, mm² at true size, by its words; how sure that is."""
    root = etree.fromstring(overlay)
    groups = [group for group in root.iter(f"{SVG}g") if group.find(f"{SVG}title") is not None]
    sheet = next(g for g in groups if g.findtext(f"{SVG}title").startswith("output page"))
    left, _, right, _ = region(sheet.find(f"{SVG}path").get("d")).bounds
    scale = (right - left) / page.width
    found, unsure = {}, {}
    for group in groups:
        paths = [node.get("d") for node in group.iter(f"{SVG}path") if "Z" in node.get("d")]
        words = group.findtext(f"{SVG}title")
        if group.get("id", "").startswith("entry-") and paths and words.startswith(CHANGES):
            area = region(paths[0])
            found[words] = area.area / scale**2
            unsure[words] = area.length * GRID / scale**2
    return found, unsure


def starting(found, *words):
    return fsum(area for title, area in found.items() if title.startswith(words))


def overlapped(found):
    """Area marked again before, each time counted: as covered, or in words where deeper."""
    deeper = [m for title in found if (m := re.search(r"; ([\d.]+) mm² too much", title))]
    return float(deeper[0][1]) if deeper else starting(found, "overlapping areas")


def areas_in(ledger):
    """What a ledger adds and removes, mm², all passes together."""
    changes = [change for _, some in ledger for change in some]
    return fsum(c.added.area for c in changes) - fsum(c.removed.area for c in changes)


def counted_again(artwork):
    """Area that lies in several shapes, mm², counted once for each but the first."""
    areas = [shape.geometry for shape in artwork.shapes if shape.is_engraved_area]
    return fsum(area.area for area in areas) - shapely.union_all(areas).area


SPRIG = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
  <path id="edge" d="M1 1 H59 V39 H1 Z" fill="none" stroke="#808080" stroke-width="0.1"/>
  <path id="leaf" d="M8 20 Q20 8 34 20 Q20 30 8 20 Z"/>
  <path id="blade" d="M14 33 L52 34 L14 35 Z"/>
  <path id="twig" d="M5 24 L40 14" fill="none" stroke="#000" stroke-width="1.2"/>
  <circle id="seed" cx="36" cy="18" r="4" fill="none" stroke="#000" stroke-width="1.5"/>
  <path id="vein" d="M8 12 L34 26" fill="none" stroke="#000" stroke-width="0.8"/>
</svg>"""
STEPS = [
    pytest.param("", 1, id="as drawn"),
    pytest.param("place: {copies: [2, 3], spacing: [70 mm, 50 mm]}", 6, id="six copies"),
    pytest.param("place: {width: 30 mm}", 1, id="smaller"),
]


@pytest.mark.parametrize(("step", "copies"), STEPS)
def test_strokes_that_became_areas_and_lie_elsewhere(tmp_path, step, copies):
    recipe = tmp_path / "recipe.yaml"
    recipe.write_text(
        'recipe: 1\ndesign: in.svg\npart: {outline: "#edge"}\nmachine: {spot: 0.06 mm}\n'
        "settings: {engrave: {power: 50 %, speed: 500 mm/s, pitch: 0.1 mm}}\npasses:\n"
        "  - strokes-to-areas\n"
        + (f"  - {step}\n" if step else "")
        + "  - merge\n  - inset-tips: {narrower_than: 0.6 mm, by: 0.05 mm}\n"
    )
    result = convert(load_recipe(recipe), SPRIG.encode(), "in.svg")
    overlay = make_overlay(result, "in.svg")
    found, unsure = pictured(overlay, result.after.page)
    notes = " ".join(finding.message for finding in result.findings)
    (twice,) = map(float, MARKED_TWICE.findall(notes))
    tips = fsum(map(float, TIPS.findall(notes)))
    assert twice > 1
    assert tips > 0.1
    assert overlapped(found) == pytest.approx(twice, abs=0.01 + starting(unsure, "overlapping"))
    near = 0.001 + starting(unsure, "removed")
    assert starting(found, "removed") == pytest.approx(tips, abs=near)
    assert not starting(found, "added to")
    assert b"lines removed" not in overlay
    part = shapely.union_all(result.after.parts)
    ghosts = compare_artworks(as_placed(result.before, result.after)[0], result.after)
    for one in (ghosts.removed, ghosts.widened, ghosts.twice, ghosts.lost_lines):
        assert one.difference(part).is_empty
    # blade 38 x 2 / 2; leaf between two parabolas 26 mm long, 6 and 5 mm high, by Archimedes 2/3
    kept = fsum(layer.stays.area for layer in ghosts.layers)
    factor = (30 / (52 - 5 + 0.6 * 10 / math.hypot(35, 10))) ** 2 if "width" in step else 1.0
    want = copies * factor * (38 + 26 * 11 * 2 / 3)
    assert kept + ghosts.removed.area == pytest.approx(want, rel=1e-3)


@pytest.mark.parametrize(
    ("recipe", "drawing"), [*JOBS, *CASES], ids=lambda path: f"{path.parent.name}-{path.stem}"
)
def test_picture_notes_and_ledger_agree(recipe, drawing):
    result = convert(load_recipe(recipe), drawing.read_bytes(), drawing.name)
    found, unsure = pictured(make_overlay(result, drawing.name), result.after.page)
    more = starting(found, "drawn as strokes", "added to", "thin areas", "areas before")
    less = starting(found, "removed in") + overlapped(found)
    bars = fsum(s.bars.area for s in result.after.shapes if s.bars is not None)
    lines = starting(found, "areas before", "thin areas")
    again = max(0.0, counted_again(result.after) - counted_again(result.before))
    assert more - less - 2 * lines + again == pytest.approx(
        areas_in(result.ledger) - bars, abs=0.02 + sum(unsure.values())
    )
    notes = " ".join(finding.message for finding in result.findings)
    twice = fsum(float(figure) for figure in MARKED_TWICE.findall(notes))
    if twice:
        assert overlapped(found) == pytest.approx(twice, abs=0.01 + starting(unsure, "overlapping"))
    if tips := TIPS.findall(notes):
        near = 0.001 + starting(unsure, "removed in")
        assert starting(found, "removed in") == pytest.approx(fsum(map(float, tips)), abs=near)
