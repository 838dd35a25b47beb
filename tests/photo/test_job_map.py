"""Maps of a finished part in a photo, against the tones that were painted on it."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest

from preprocess.photo.measured_file import read_measured
from tests.cli.inside import evenmark
from tests.photos.leaf_job import DRAWING, RECIPE, tones
from tests.photos.light import LUMINANCE, lightness
from tests.photos.plastic import PX, colours, plate
from tests.photos.scenes import PLATE
from tests.photos.shot import place_of, take


@pytest.fixture(scope="module")
def measured(tmp_path_factory, page):
    """The folder of a leaf that was marked stronger towards the right, and its painted tones."""
    folder = tmp_path_factory.mktemp("leaf")
    (folder / "leaf.yaml").write_text(RECIPE)
    (folder / "leaf.svg").write_text(DRAWING)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        capture = Quiet()
        assert evenmark(patch, capture, "run", "leaf.yaml", "-o", "out.svg", "-q").code == 0
        rng = np.random.default_rng(12)
        share = tones((folder / "out.svg").read_text(), rng, gain=0.1, tilt=0.3)
        ground, mark = colours(rng, "moss", lighter=True)
        middle = np.array(page.corner) + np.array(page.size) / 2
        shot = take(
            rng,
            page.raster,
            plate(share, ground, mark, rng),
            place=place_of(rng, PLATE, middle),
            height=3.0,
            wide=1200,
            frame_box=(*page.corner, *page.size),
            conditions={"glare": 0.0, "blur": 0.7, "exposure": 0.75},
        )
        (folder / "part.jpg").write_bytes(shot.data)
        said = evenmark(patch, capture, "measure", "leaf.yaml", "part.jpg")
    mixed = (ground @ LUMINANCE) + share * ((mark - ground) @ LUMINANCE)
    return folder, said, lightness(mixed) - lightness(ground @ LUMINANCE), share


class Quiet:
    """Stands in for the capture of pytest, which lasts for one test only."""

    def readouterr(self):
        class Nothing:
            out = err = ""

        return Nothing()


def test_the_map_is_what_was_painted(measured) -> None:
    folder, said, truth, share = measured
    assert said.code == 0
    job = read_measured(folder / "leaf.measured.json")
    rows, columns = np.nonzero(np.isfinite(job.tone))
    x, y = job.origin[0] + columns * job.step, job.origin[1] + rows * job.step
    at = np.floor(y * PX).astype(int), np.floor(x * PX).astype(int)
    assert (share[at] > 0).mean() > 0.999
    off = job.tone[rows, columns] - truth[at]
    assert len(off) > 5000
    assert np.sqrt((off**2).mean()) < 1.2
    assert (off - off.mean()).std() < 0.9


def test_first_rows_and_edges_are_left_out(measured) -> None:
    job = read_measured(measured[0] / "leaf.measured.json")
    rows, columns = np.nonzero(np.isfinite(job.tone))
    y = job.origin[1] + rows * job.step
    assert y.min() >= 5.0 + 0.7
    x = (job.origin[0] + columns * job.step)[(y > 20) & (y < 21)]
    in_stem = x[(x > 33) & (x < 39)]
    assert in_stem.min() > 34.1
    assert in_stem.max() < 37.9


def test_the_heat_index_lies_on_the_same_grid(measured) -> None:
    job = read_measured(measured[0] / "leaf.measured.json")
    assert np.array_equal(np.isfinite(job.index), np.isfinite(job.tone))
    assert 0.2 < np.nanmedian(job.index) < 5
    assert np.nanstd(job.wider) > 0


def test_the_cause_is_told_in_a_sentence_and_on_the_page(measured) -> None:
    page = (measured[0] / "leaf.measured.html").read_text()
    assert "tilt" in page
    for words in ("Measured", "Follows the predicted heat", "Left over", "same scale"):
        assert words in page
    assert page.count("data:image/png") == 3


def test_the_strongest_place_lies_on_the_right(measured) -> None:
    page = (measured[0] / "leaf.measured.html").read_text()
    across = float(re.search(r"strongest</th><td>([\d.]+)", page)[1])
    assert across > 45


def test_the_drawing_is_known_by_its_digest(measured) -> None:
    import hashlib

    folder = measured[0]
    held = json.loads((folder / "leaf.measured.json").read_text())
    assert held["drawing"] == hashlib.sha256((folder / "out.svg").read_bytes()).hexdigest()


def test_a_recipe_without_engraved_areas_has_no_tone(tmp_path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "leaf.yaml").write_text(RECIPE)
    (tmp_path / "leaf.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        '<path d="M8 5 H26" fill="none" stroke="#000" stroke-width="0.1"/></svg>'
    )
    said = evenmark(monkeypatch, capsys, "measure", "leaf.yaml", "part.jpg")
    assert said.code == 1
    assert "leaf.yaml: nothing of this recipe is engraved" in " ".join(said.err.split())
