"""The seed-head: engraved and scored together, against facts that were worked out by hand."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import shapely

from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.model.artwork.settings import Operation
from tests.jobs.test_jobs import FLATTENING, JOBS, engraved, facts, run

WANT = facts("seed-head")


@pytest.fixture(scope="module")
def ran():
    return run("seed-head/seed-head")


def head_of(artwork):
    """Disc and seeds, without the letters to the right of them."""
    whole = shapely.union_all([s.geometry for s in engraved(artwork, "head")])
    return shapely.MultiPolygon([p for p in whole.geoms if p.bounds[0] < 36])


def scored(artwork, layer):
    shapes = [s.geometry for s in artwork.shapes_of(layer) if s.operation is Operation.SCORE]
    return shapely.get_parts(shapes)


def test_the_drawing_is_what_its_script_draws():
    drawn = subprocess.run(
        [sys.executable, str(JOBS / "seed-head" / "draw.py")], capture_output=True, check=True
    ).stdout
    assert drawn == (JOBS / "seed-head" / "seed-head.svg").read_bytes()


def test_as_read(ran):
    before = ran[0].before
    assert before.parts[0].area == pytest.approx(WANT["label"]["area"], abs=1e-6)
    for label in ("Name", "Lines"):
        drawn = [s for s in before.shapes if s.sources[0].label == label]
        length = sum(s.geometry.length for s in drawn)
        assert length == pytest.approx(WANT[label.lower()]["length"], abs=1e-3)


def test_stalks_and_hairs_are_scored_and_head_and_seeds_engraved(ran):
    after = ran[0].after
    head = head_of(after)
    assert len(head.geoms) == WANT["head"]["pieces"]
    assert head.area == pytest.approx(WANT["head"]["area"], abs=FLATTENING * 2 * np.pi * 1.8)
    lines = scored(after, "head")
    lengths = np.sort(shapely.length(lines))
    hairs, stalks = lengths[: WANT["hairs"]["count"]], lengths[WANT["hairs"]["count"] :]
    assert len(stalks) == WANT["stalks"]["count"]
    assert hairs.sum() == pytest.approx(WANT["hairs"]["length"], abs=1e-3)
    assert stalks.sum() == pytest.approx(WANT["stalks"]["length"], abs=24 * FLATTENING)


def test_every_line_points_to_the_middle_or_leans_from_its_seed(ran):
    """Their directions are those that were drawn, and each lies where it was drawn."""
    for line in scored(ran[0].after, "head"):
        ends = shapely.get_coordinates(line)[[0, -1]] - (19, 18)
        way = np.degrees(np.arctan2(*np.diff(ends, axis=0)[0][::-1])) % 180
        lean = np.abs((way[None] - np.array([-18, 0, 18]) + 7.5) % 15 - 7.5).min()
        assert lean < 1e-3


def test_lines_begin_where_the_engraved_area_ends(ran):
    """Each stalk touches the disc and its seed, and neither goes on into them."""
    after = ran[0].after
    head = head_of(after)
    for line in scored(after, "head"):
        touches = [p for p in head.geoms if p.distance(line) < 1e-6]
        assert len(touches) == (2 if line.length > 5 else 0)
        assert line.intersection(head).length < 1e-6


def test_the_ledger_counts_area_that_became_length(ran):
    result = ran[0]
    (changes,) = [changes for name, changes in result.ledger if name == "score-hairlines"]
    (change,) = changes
    assert change.added.length == pytest.approx(
        WANT["stalks"]["length"] + WANT["hairs"]["length"], abs=24 * FLATTENING
    )
    after = sum(s.geometry.area for s in engraved(result.after, "head"))
    assert change.added.area == pytest.approx(after, abs=0.06)


def test_rows_come_in_four_rounds_of_every_fourth_row(ran):
    result, loaded = ran
    groups = [s for s in plan_of(result.after, loaded.machine).steps if isinstance(s, RasterGroup)]
    top = min(group.first for group in groups)
    rows = [np.rint((row_spans(group).v - top) / 0.1).astype(int) % 4 for group in groups]
    # but for a first row that belongs to the first round, so that the others begin on the grid
    most = [np.bincount(one, minlength=4).argmax() for one in rows]
    assert [(one - most[0]) % 4 for one in most] == [0, 2, 1, 3]
    assert all(np.bincount(one, minlength=4).max() >= len(one) - 3 for one in rows)


def test_the_overlay_says_that_thin_areas_are_traced():
    overlay = (JOBS / "seed-head" / "seed-head.overlay.svg").read_text("utf-8")
    assert "thin areas before, traced by lines now" in overlay
    assert "filled with lines" not in overlay
