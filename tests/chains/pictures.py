"""Pictures of a drawing, of what is written, and of what the overlay tells, drawn by resvg."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import resvg_py
from PIL import Image
from scipy.ndimage import binary_dilation, binary_erosion, binary_opening

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tests.chains.written import Group, Overlay, Written

Page = tuple[float, float]
"""Width and height of the drawing's own page, mm."""

PEN = 2
"""Pixels of a stroke drawn as a line; a group that halves it leaves one, which is always seen."""

ROUND = "stroke-linejoin:round"
"""Mitres of a pen stick out of sharp corners: a wide pen's further than a narrow one's."""

PIXELS = 448
WHITE = 255
NEAR = 2
"""Pixels within which two pictures may differ by rounding on a pixel's edge."""

ADDED = ("added to the artwork", "drawn as strokes, areas now", "*added beside the art")
GONE = ("removed in", "areas before, filled", "thin areas before")
NEW_LINES = ("lines added", "areas before, filled", "thin areas before")
LOST_LINES = ("lines removed", "overlapping lines")


@dataclass(frozen=True, slots=True)
class Frame:
    """Where pictures are taken: the output page (mm), and where the drawing's page lies on it."""

    width: float
    height: float
    left: float = 0.0
    top: float = 0.0

    @property
    def zoom(self) -> float:
        """Pixels to the mm."""
        return PIXELS / max(self.width, self.height)

    def picture(self, body: str, defs: str = "") -> np.ndarray:
        """Marked or not."""
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width}mm" '
            f'height="{self.height}mm" viewBox="0 0 {self.width} {self.height}">{defs}{body}</svg>'
        )
        data = resvg_py.svg_to_bytes(
            svg_string=svg,
            dpi=96,
            zoom=self.zoom * 25.4 / 96,
            background="#ffffff",
            shape_rendering="crisp_edges",
        )
        pixels = np.asarray(Image.open(io.BytesIO(bytes(data))).convert("RGB"))
        return pixels.min(axis=2) < WHITE

    def drawing(self, pieces: Iterable[str], page: Page | None, style: str = "") -> np.ndarray:
        """Pieces of the drawing, as far as its own page shows them, on the output page."""
        defs, clip = f"<style>{style}</style>", ""
        if page:
            box = f'<rect width="{page[0]}" height="{page[1]}"/>'
            defs += f'<clipPath id="its-page">{box}</clipPath>'
            clip = 'clip-path="url(#its-page)"'
        moved = f'<g transform="translate({self.left} {self.top})"><g {clip}>'
        return self.picture(moved + "".join(pieces) + "</g></g>", defs)

    def areas(self, paths: Iterable[str], at: str = "") -> np.ndarray:
        """Path data as areas."""
        body = "".join(f'<path fill-rule="evenodd" d="{data}"/>' for data in paths)
        return self.picture(f"<g {at}>{body}</g>")

    def lines(self, paths: Iterable[str], at: str = "", wide: float = 1.0) -> np.ndarray:
        """Path data as lines so many pixels wide."""
        pen = f'fill="none" stroke="#000" stroke-width="{wide / self.zoom}" style="{ROUND}"'
        body = "".join(f'<path d="{data}"/>' for data in paths)
        return self.picture(f"<g {at} {pen}>{body}</g>")


@dataclass(frozen=True, slots=True)
class Placed:
    """Another file of the same drawing: its layers, and where its page lies on the output page."""

    marked: Sequence[Group]
    left: float
    top: float

    @property
    def at(self) -> str:
        """The attribute that puts it there."""
        return f'transform="translate({self.left} {self.top})"'


@dataclass(frozen=True, slots=True)
class Base:
    """What there was: filled areas, all paint, and strokes as thin lines, visible and all.

    A line may go on where it is hidden: of a wide stroke that is covered in part.
    """

    areas: np.ndarray
    painted: np.ndarray
    lines: np.ndarray
    strokes: np.ndarray

    @classmethod
    def of_drawing(cls, pieces: Sequence[str], frame: Frame, page: Page) -> Base:
        """Of the markup itself."""
        pen = f"*{{stroke-width:{PEN / frame.zoom}!important;{ROUND}!important}}"
        bare = [re.sub('fill="#(?!ffffff)', 'fill="none" data-was="', one) for one in pieces]
        thin = [one.replace('fill="#ffffff"', 'fill="none"') for one in bare]
        painted = frame.drawing(pieces, page)
        lines = frame.drawing(bare, page, pen)
        areas = frame.drawing(pieces, page, "*{stroke:none!important}")
        return cls(areas, painted | lines, lines, frame.drawing(thin, page, pen))

    @classmethod
    def of_written(cls, plain: Placed, widened: Placed, frame: Frame) -> Base:
        """Of two files: the drawing as written, and the same with its strokes as areas."""
        areas = frame.areas(_data(plain.marked, filled=True), plain.at)
        painted = areas | frame.areas(_data(widened.marked, filled=True), widened.at)
        lines = frame.lines(_data(plain.marked, filled=False), plain.at)
        still = frame.lines(_data(widened.marked, filled=False), widened.at)
        return cls(areas, painted | still, lines & near(painted | still), lines)


def _data(groups: Iterable[Group], *, filled: bool) -> list[str]:
    """Path data, written anew."""
    return [
        " ".join("M" + " ".join(f"{x:.5f} {y:.5f}" for x, y in sub.tolist()) for sub in path)
        for group in groups
        if group.filled is filled
        for path in group.paths
    ]


def differences(
    base: Base, written: Written, overlay: Overlay, frame: Frame, guides: set[str]
) -> list[str]:
    """What the pictures show and the overlay does not tell, and the other way round.

    Args:
        base: pictures of what there was.
        written: the laser-ready file.
        overlay: what it is said to differ in.
        frame: where the pictures are taken.
        guides: ids of the colours that are not marked.
    """
    left, top, right, _ = overlay.box
    scale = frame.width / (right - left)
    at = f'transform="scale({scale:.9f}) translate({-left} {-top})"'
    now = frame.areas(_data(written.groups, filled=True))
    edges = frame.lines(_data(written.groups, filled=True))  # narrower than a pixel: no area
    others = [one for one in written.groups if one.id not in guides]
    lines_now = frame.lines(_data(others, filled=False))
    added, gone = (frame.areas(overlay.data(*words), at) for words in (ADDED, GONE))
    rim = [frame.lines(overlay.data(*words), at, PEN / scale) for words in (ADDED, GONE)]
    new_lines = frame.lines(overlay.data(*NEW_LINES), at, PEN / scale)
    lost_lines = frame.lines(overlay.data(*LOST_LINES), at, PEN / scale)
    strokes = base.painted & ~base.areas | base.strokes
    checks = {
        "areas that are new and not told": _wide(now & ~base.areas & ~near(added | rim[0])),
        "areas that are gone and not told": _wide(base.areas & ~now & ~near(gone | rim[1])),
        "told as added, and not marked": _core(added) & ~near(now | edges),
        "told as added, and there before": _core(added) & binary_erosion(base.areas),
        "told as removed, and still marked": _core(gone) & binary_erosion(now),
        "told as removed, and never there": _core(gone) & ~near(base.painted),
        "lines that are new and not told": lines_now & ~near(strokes | new_lines | gone | rim[1]),
        "lines that are gone and not told": base.lines
        & ~near(lines_now | now | edges | gone | rim[1] | lost_lines),
    }
    return [f"{int(pixels.sum())} pixels of {what}" for what, pixels in checks.items()
            if pixels.sum() > SPECKS]  # fmt: skip


def beyond_page(pieces: Sequence[str], page: Page) -> bool:
    """Test whether a drawing shows anything beyond its page."""
    wide, high = page
    frame = Frame(2 * wide, 2 * high, wide / 2, high / 2)
    box = f'<rect x="{wide / 2}" y="{high / 2}" width="{wide}" height="{high}"/>'
    return bool((frame.drawing(pieces, None) & ~near(frame.picture(box))).sum() > SPECKS)


SPECKS = 3
"""Pixels that do not count: a renderer may set a single one otherwise."""


def near(picture: np.ndarray) -> np.ndarray:
    """A picture with all that lies within so many pixels of it."""
    return binary_dilation(picture, iterations=NEAR)


def _core(picture: np.ndarray) -> np.ndarray:
    return binary_erosion(picture, iterations=NEAR)


def _wide(picture: np.ndarray) -> np.ndarray:
    """Without lines a pixel thin, which are rounding."""
    return binary_opening(picture, np.ones((2, 2)))
