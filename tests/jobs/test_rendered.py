"""The jobs' engraved areas look as drawn, to a renderer that knows nothing of us."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import resvg_py
from PIL import Image
from scipy import ndimage

JOBS = Path(__file__).parents[2] / "fixtures" / "jobs"
PER_MM = 20
SVG = "{http://www.w3.org/2000/svg}"


def marked(root: ET.Element, box: tuple[float, float, float, float]) -> np.ndarray:
    """Which pixels of a box (left, top, width, height in mm) are painted in anything but white."""
    return covered(root, box) > 0.5


def covered(root: ET.Element, box: tuple[float, float, float, float]) -> np.ndarray:
    """Share of each pixel that is painted."""
    root.set("viewBox", " ".join(map(str, box)))
    root.set("width", str(box[2] * PER_MM))
    root.set("height", str(box[3] * PER_MM))
    text = re.sub(r"#(?!fff\b)[0-9a-f]{6}\b", "#000000", ET.tostring(root, "unicode"))
    png = bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=96, background="#ffffff"))
    return 1 - np.asarray(Image.open(BytesIO(png)).convert("L")) / 255


def drawn(job: str, hidden: str) -> tuple[np.ndarray, tuple[float, float]]:
    text = (JOBS / job / f"{job}.svg").read_text("utf-8")
    root = ET.fromstring(text.replace("</style>", f"{hidden}{{display:none}}</style>"))
    _, _, width, height = map(float, root.get("viewBox").split())
    return marked(root, (0, 0, width, height)), (width, height)


def written(recipe: str, groups: set[str], size: tuple[float, float]) -> np.ndarray:
    """What the chosen groups mark within the page of the drawing, whose middle stayed."""
    share = 0.0
    for name in groups:  # one by one: where two strips meet in a pixel, their shares add up
        root = ET.parse(JOBS / f"{recipe}.laser.svg").getroot()
        for group in root.findall(f"{SVG}g"):
            if group.get("id") != name:
                root.remove(group)
        _, _, width, height = map(float, root.get("viewBox").split())
        assert len(root) == 1
        share += covered(root, ((width - size[0]) / 2, (height - size[1]) / 2, *size))
    return share > 0.5


def beyond_edges(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Pixels of the first that the second lacks, but for a pixel along the edges."""
    return one & ~ndimage.binary_dilation(other, np.ones((3, 3)))


LINES = "#label-edge, .line, .fine, .helper, #veins path"


@pytest.mark.parametrize(
    ("recipe", "hidden", "groups"),
    [
        ("moth/moth-together", LINES, {f"moth-{n}" for n in (1, 2, 3, 4)}),
        ("moth/moth-apart", f"{LINES}, .letter", {"moth"}),
    ],
)
def test_merged_and_split_moths_look_as_drawn(recipe: str, hidden: str, groups: set[str]) -> None:
    before, size = drawn("moth", hidden)
    after = written(recipe, groups, size)
    assert not beyond_edges(before, after).any()
    within = after.copy()
    within[:, : 2 * PER_MM] = within[:, -2 * PER_MM :] = False  # bars stand beside the label
    assert not beyond_edges(within, before).any()
    assert within.sum() == pytest.approx(before.sum(), rel=0.005)


def test_the_fern_looks_as_drawn_but_for_its_tips() -> None:
    before, size = drawn("fern", LINES)
    after = written("fern/fern", {f"frond-{n}" for n in (1, 2, 3, 4)}, size)
    assert not beyond_edges(after, before).any()
    lost = beyond_edges(before, after)
    _, tips = ndimage.label(ndimage.binary_dilation(lost, np.ones((3, 3))))
    assert 0 < tips <= 2 * 39  # both ends of each leaflet
    assert lost.sum() / PER_MM**2 < 1.8  # what inset-tips says it took


def test_a_dot_that_went_missing_would_be_noticed() -> None:
    before, size = drawn("moth", f"{LINES}, .letter")
    after = written("moth/moth-apart", {"moth"}, size)
    assert beyond_edges(before, drawn("moth", f"{LINES}, .letter, #dot-57")[0]).any()
    assert not beyond_edges(before, after).any()
