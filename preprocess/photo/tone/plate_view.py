"""The plate from straight above, in the coordinates of its drawing: luminance, marks, ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.photo.finding.camera_map import apply_homography
from preprocess.photo.finding.sampling import sample_image
from preprocess.photo.libraries import opencv
from preprocess.photo.registering.marked_drawing import MarkedDrawing, drawing_image
from preprocess.photo.srgb import LUMINANCE

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Floats, Floats32, Points
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.photo.finding.camera_map import CameraMap
    from preprocess.photo.finding.found_frame import FoundFrame
    from preprocess.photo.tone.camera_response import CameraResponse

_LEAST, _MOST = 8.0, 16.0
"""Pixels per mm of a view: about those of the picture."""

_MOST_PIXELS = 6e6
_BESIDE, _INSIDE = 0.35, 1.5
"""mm from a mark, where the picture is sharp, and from the edge of the part, at which the ground
begins."""

_BRIGHT = 253
"""Code of green, which makes up most of the luminance, from which light is lost."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateView:
    """Images of rows × columns at `px` pixels per mm, whose upper left corner lies at `corner`.

    `luminance` is that of the plastic under even light, 1 for a perfect white. `ground` tells bare
    plastic, `clipped` where the picture is as bright as it can be.
    """

    corner: Points
    px: float
    luminance: Floats32
    ground: Booleans
    clipped: Booleans

    def window(self, box: Bounds) -> tuple[slice, slice]:
        """Rows and columns of a box (left, top, right, bottom, mm), as far as it is seen."""
        low = np.floor((np.array(box[:2]) - self.corner) * self.px).astype(int)
        high = np.ceil((np.array(box[2:]) - self.corner) * self.px).astype(int)
        shape = self.luminance.shape
        rows, columns = (
            slice(int(np.clip(low[k], 0, shape[1 - k])), int(np.clip(high[k], 0, shape[1 - k])))
            for k in (1, 0)
        )
        return rows, columns

    def mask(self, area: MultiPolygon, box: Bounds) -> Booleans:
        """Which pixels of a window lie in an area, by their middles (at least half covered)."""
        rows, columns = self.window(box)
        left, top = self.corner + np.array([columns.start, rows.start]) / self.px
        right, bottom = self.corner + np.array([columns.stop, rows.stop]) / self.px
        drawing = MarkedDrawing.of_area(area)
        return drawing_image(drawing, self.px, (left, top, right, bottom)) >= 0.5  # noqa: PLR2004


def plate_view(
    picture: Any,
    camera: CameraMap,
    place: Floats,
    response: CameraResponse,
    drawing: MarkedDrawing,
    frame: FoundFrame,
) -> PlateView:
    """See a plate from above.

    Args:
        picture: rows × columns × 3 bytes, red first.
        camera: the map of the plane of the marks.
        place: the map from the drawing to the page (3 × 3).
        response: of the camera to this frame.
        drawing: what was marked.
        frame: how many pixels a mm has, and how wide edges are: so far a mark's light may reach.
    """
    box = _seen_box(drawing)
    area = (box[2] - box[0]) * (box[3] - box[1])
    px = min(max(round(frame.px_per_mm), _LEAST), _MOST, max(4.0, (_MOST_PIXELS / area) ** 0.5))
    image = drawing_image(drawing, px, box)
    y, x = np.indices(image.shape)
    at = np.stack([box[0] + (x + 0.5) / px, box[1] + (y + 0.5) / px], axis=-1)
    on_page = apply_homography(place, at.reshape(-1, 2))
    pixels = camera.pixels(on_page).reshape(at.shape)
    codes = sample_image(picture, pixels)
    light = response.reflectances(codes, on_page.reshape(at.shape)) @ np.array(LUMINANCE)
    return PlateView(
        corner=np.array(box[:2]),
        px=px,
        luminance=light.astype(np.float32),
        ground=_ground(drawing, image, (px, frame.edge), box),
        clipped=codes[..., 1] >= _BRIGHT,
    )


def _seen_box(drawing: MarkedDrawing) -> Bounds:
    """The part; of one that is not known, the marks with a rim: beyond may lie paper."""
    if drawing.part.is_empty:
        return drawing.box
    left, top, right, bottom = drawing.part.bounds
    return left, top, right, bottom


def _ground(
    drawing: MarkedDrawing, image: Floats32, sharpness: tuple[float, float], box: Bounds
) -> Booleans:
    px, edge = sharpness
    bare = _distance(image <= 0.05) > max(_BESIDE, edge) * px  # noqa: PLR2004 - soft edges
    if drawing.part.is_empty:
        return bare
    part = drawing_image(MarkedDrawing.of_area(drawing.part), px, box) >= 0.5  # noqa: PLR2004
    framed = np.pad(part, 1)
    return bare & (_distance(framed)[1:-1, 1:-1] > _INSIDE * px)


def _distance(inside: Booleans) -> Floats32:
    """Pixels from each place inside to the nearest one outside."""
    cv2 = opencv()
    if inside.all():
        return np.full(inside.shape, np.inf, np.float32)
    return np.asarray(cv2.distanceTransform(inside.astype(np.uint8), cv2.DIST_L2, 5))
