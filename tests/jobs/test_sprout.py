"""The sprout label, from its model to tray and marks, against facts worked out by hand."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh
from ruamel.yaml import YAML

from preprocess.pipeline import convert
from preprocess.read.mesh.mesh_file import read_mesh_file
from preprocess.read.mesh.stl import read_stl
from preprocess.recipe.load import load_recipe
from preprocess.tray.measures import TrayMeasures
from preprocess.tray.tray import make_tray
from tests.geometry.relief.test_layers import uses

JOB = Path(__file__).parents[2] / "fixtures" / "jobs" / "sprout"
FACTS = YAML(typ="safe").load(JOB / "facts.yaml")
CHORDS = 0.06
"""mm²: a half circle of 14 mm in chords of a degree loses 14² / 2 · (π - 180 sin 1°) = 0.016; that
of the rim's inner edge, whose chords are longer where rays graze it, up to three times as much."""

FLATTENING = 0.005
"""Tolerance of the recipe, mm: areas may differ by this times the outline."""


def converted(name):
    loaded = load_recipe(JOB / f"{name}.yaml")
    return convert(loaded, loaded.design.read_bytes(), "sprout.svg"), loaded


@pytest.fixture(scope="module")
def job():
    return converted("sprout")


@pytest.fixture(scope="module")
def barred():
    return converted("sprout-with-bars")


def test_the_model_is_sound_and_has_the_volume_of_its_drawing() -> None:
    mesh = read_mesh_file(JOB / "sprout.3mf").triangles
    places, number = np.unique(mesh.reshape(-1, 3), axis=0, return_inverse=True)
    solid = trimesh.Trimesh(places, number.reshape(-1, 3), process=False)
    assert solid.is_watertight
    assert solid.volume == pytest.approx(FACTS["volume"], abs=CHORDS * 3.6)


def test_the_relief_is_that_of_the_drawing(job) -> None:
    _, loaded = job
    (relief,), (part,) = loaded.bench.reliefs, loaded.bench.parts
    left, top, right, bottom = relief.outline.bounds
    assert (right - left, bottom - top) == pytest.approx((64, 28), abs=1e-4)
    assert relief.outline.area == pytest.approx(FACTS["label"]["area"], abs=CHORDS)
    assert sum(len(one.interiors) for one in relief.outline.geoms) == FACTS["label"]["holes"]
    assert relief.raised.area == pytest.approx(FACTS["rim"]["area"], abs=CHORDS)
    assert relief.flat.area == pytest.approx(FACTS["flat"]["area"], abs=CHORDS)
    assert (part.height, part.thickness) == pytest.approx((FACTS["surface"],) * 2)
    assert relief.in_focus == pytest.approx(FACTS["in_focus"], abs=1e-4)


def test_the_leaves_are_marked_inside_the_rim_only(job) -> None:
    result, _ = job
    drawn = shapely.geometrycollections([shape.geometry for shape in result.before.shapes])
    within = FLATTENING * drawn.length
    assert drawn.area == pytest.approx(FACTS["leaves"]["area"], abs=within)
    marked = shapely.union_all([shape.geometry for shape in result.after.shapes])
    assert marked.intersection(shapely.union_all(result.after.keep_off)).area < 1e-9
    assert not {"marks-out-of-focus", "marks-in-shade"} & {f.code for f in result.findings}
    assert result.data is not None


def test_the_tray_of_the_label_without_bars_has_no_card(job) -> None:
    result, loaded = job
    tray = make_tray(
        result.after, result.bench, loaded.models.solids, TrayMeasures(), title="sprout"
    )
    assert not {f.code for f in tray.findings} & {"tray-card", "tray-bar-off-the-card"}
    mesh = read_stl(tray.stl, "tray.stl").triangles
    assert np.ptp(mesh[:, :, 2]) == pytest.approx(FACTS["tray"]["height"])


def test_the_tray_is_closed_and_its_card_flush(barred) -> None:
    result, loaded = barred
    tray = make_tray(
        result.after, result.bench, loaded.models.solids, TrayMeasures(), title="sprout"
    )
    mesh = read_stl(tray.stl, "tray.stl").triangles
    places, number = np.unique(mesh.reshape(-1, 3), axis=0, return_inverse=True)
    faces = number.reshape(-1, 3)
    assert trimesh.Trimesh(places, faces, process=False).is_watertight
    assert uses(faces) == {2}
    assert np.ptp(mesh[:, :, 2]) == pytest.approx(FACTS["tray"]["height"])
    codes = {f.code for f in tray.findings}
    assert "tray-card" in codes
    assert not {"tray-card-not-flush", "tray-bar-off-the-card"} & codes
    kept = (JOB / "sprout-with-bars.plan.svg").read_text("utf-8")
    assert kept.replace("sprout.svg: tray", "sprout: tray") == tray.plan.decode()


def test_the_files_are_those_that_the_script_makes(tmp_path: Path) -> None:
    """The model byte for byte; the leaves in the drawing stay as they are."""
    (tmp_path / "draw.py").write_bytes((JOB / "draw.py").read_bytes())
    (tmp_path / "sprout.svg").write_bytes((JOB / "sprout.svg").read_bytes())
    subprocess.run([sys.executable, tmp_path / "draw.py"], check=True)
    assert (tmp_path / "sprout.svg").read_bytes() == (JOB / "sprout.svg").read_bytes()
    one, other = (read_mesh_file(folder / "sprout.3mf") for folder in (tmp_path, JOB))
    assert np.array_equal(one.triangles, other.triangles)
