"""The drawing to draw on: its guides are where the part is, and none of them is ever marked."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from lxml import etree
from PIL import Image

from preprocess.cli.start_model import files_for_model
from preprocess.pipeline import convert
from preprocess.preview.relief.height_bands import bands_of
from preprocess.preview.relief.template import template_svg
from preprocess.recipe.load import load_recipe
from tests.read.mesh.mesh_files import binary
from tests.read.part.parts import RIBBED, seen

RELIEF = seen(in_focus=0.3).relief
PX_PER_MM = 10


@pytest.fixture
def started(tmp_path: Path) -> Path:
    (tmp_path / "label.stl").write_bytes(binary(RIBBED))
    keys = {"up": "+z", "unit": "mm"}
    model = str(tmp_path / "label.stl")
    for path, data in files_for_model(model, "", keys, "", replace=False).outputs:
        Path(path).write_bytes(data)
    return tmp_path


def test_the_page_shows_the_part_in_its_middle() -> None:
    """Drawn by another program: the rib is light, red over; 25 mm of page lie around the plate."""
    data = template_svg(RELIEF, "label.stl")
    png = resvg_py.svg_to_bytes(svg_string=data.decode(), dpi=25.4 * PX_PER_MM, background="#fff")
    pixels = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGB")).astype(int)
    assert pixels.shape[:2] == (80 * PX_PER_MM, 110 * PX_PER_MM)
    inked = (pixels < 250).any(axis=2)
    rows, columns = (np.flatnonzero(inked.any(axis=axis)) for axis in (1, 0))
    assert rows[[0, -1]] / PX_PER_MM == pytest.approx([25, 55], abs=0.3)
    assert columns[[0, -1]] / PX_PER_MM == pytest.approx([25, 85], abs=0.3)
    red = pixels[..., 0] - pixels[..., 2] > 30
    assert red.sum() / PX_PER_MM**2 == pytest.approx(2 * 10, rel=0.15)


def test_ids_and_the_empty_group(started: Path) -> None:
    root = etree.parse(started / "label.svg").getroot()
    found = {e.get("id"): e for e in root.iter("{*}*") if e.get("id")}
    assert set(found) == {
        *("part-guides", "heights", "keep-off", "flat-area", "part-outline", "drawing")
    }
    assert [child.tag.rpartition("}")[2] for child in found["drawing"]] == ["title"]


def test_the_bands_climb_to_the_top() -> None:
    bands = bands_of(RELIEF)
    assert len(bands) == 10
    assert bands[0].area.area == pytest.approx(1800)
    assert bands[-1].area.area == pytest.approx(20)
    assert bands[-1].high == pytest.approx(3.8)
    light = [int(band.colour[1:3], 16) for band in bands]
    assert light == sorted(light)


def test_what_is_drawn_in_the_group_is_all_that_is_marked(started: Path) -> None:
    drawn = '<path id="leaf" d="M30 30H80V50H30Z"/></g>\n</svg>'
    svg = (started / "label.svg").read_text().replace("</g>\n</svg>", drawn)
    result = convert(load_recipe(started / "label.yaml"), svg.encode(), "label.svg")
    assert result.data is not None
    (shape,) = result.after.shapes
    assert result.before.parts[0].bounds == pytest.approx((25, 25, 85, 55), abs=1e-3)
    grown = 2 * 10 + 2 * 0.2 * 12 + np.pi * 0.2**2  # the rib, and 0.2 mm all round
    assert shape.geometry.area == pytest.approx(1000 - grown, abs=0.01)


def evenmark(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "preprocess", *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_the_command_writes_both_and_overwrites_neither(tmp_path: Path) -> None:
    (tmp_path / "label.stl").write_bytes(binary(RIBBED))
    done = evenmark(tmp_path, "start", "--model", "label.stl")
    assert done.returncode == 0, done.stderr
    assert "wrote label.svg" in done.stderr
    again = evenmark(tmp_path, "start", "--model", "label.stl")
    assert again.returncode == 1
    assert "exists already" in again.stderr
    neither = evenmark(tmp_path, "start")
    assert neither.returncode == 2
    assert "Traceback" not in neither.stderr
