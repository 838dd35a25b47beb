"""One photo of one marked thing: frame, place of the drawing, tones; or why it does not serve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.errors import Refusal
from preprocess.photo.finding.found_frame import find_frame
from preprocess.photo.libraries import opencv
from preprocess.photo.limits import expect_found, expect_sharp, expect_unclipped
from preprocess.photo.measured import Photo
from preprocess.photo.registering.fine_place import fine_place
from preprocess.photo.registering.profiles import outline_profiles
from preprocess.photo.registering.rough_place import rough_places
from preprocess.photo.registering.scouting import best_starts, is_upright
from preprocess.photo.tone.camera_response import camera_response
from preprocess.photo.tone.plate_view import plate_view
from preprocess.photo.tone.swell import ground_field

if TYPE_CHECKING:
    from preprocess.arrays import Floats32
    from preprocess.photo.finding.camera_map import CameraMap
    from preprocess.photo.finding.found_frame import FoundFrame
    from preprocess.photo.reading.picture import PhotoPicture
    from preprocess.photo.registering.fine_place import FinePlace
    from preprocess.photo.registering.marked_drawing import MarkedDrawing
    from preprocess.photo.tone.plate_view import PlateView

_USUAL_THICKNESS = 3.0
"""Height of the marks above the page where the recipe does not tell it, mm."""

_TURNS, _TRIED = 2, 2
"""Rough places around which is looked, and starts that are looked at closely."""

_ALIKE = 0.03
"""Share of the outline by which another turn must fit better than upright: else it looks alike."""

_LEAST_INSET = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoReading:
    """A photo laid on its drawing: figures, the view from above, and the field of its ground.

    `ground` is the luminance of bare plastic, `inset` how far from edges tones are read (mm),
    `misfit` the rms error of the greys in logarithms, `paper_clipped` the share of bare paper that
    is as bright as the picture can be.
    """

    photo: Photo
    frame: FoundFrame
    camera: CameraMap
    place: FinePlace
    view: PlateView
    even: Floats32
    swell: Floats32
    ground: float
    inset: float
    misfit: float
    paper_clipped: float
    turn: float


def read_photo(
    picture: PhotoPicture, drawing: MarkedDrawing, thickness: float | None
) -> PhotoReading:
    """Lay a photo on its drawing.

    Raises:
        Refusal: the photo does not serve; with the figure, the limit, and what to do.
    """
    grey = opencv().cvtColor(picture.rgb, opencv().COLOR_RGB2GRAY)
    frame = find_frame(grey)
    expect_sharp(frame)
    height = _USUAL_THICKNESS if thickness is None else thickness
    camera = frame.camera.lifted(height, picture.focal)
    rough = rough_places(grey, camera, frame.layout.window, drawing)
    if not rough:
        raise Refusal(
            "the drawing is larger than the window of this frame",
            "print a frame for it: evenmark frame, with its recipe",
        )
    profiles = outline_profiles(drawing, frame.edge)
    starts = best_starts(grey, camera, profiles, rough[:_TURNS], _TRIED)
    fine = [fine_place(grey, camera, profiles, start) for start, _ in starts]
    turns = [turn for _, turn in starts]
    best = max(range(len(fine)), key=lambda n: fine[n].match + _ALIKE * is_upright(turns[n]))
    place = fine[best]
    expect_found(place)
    response = camera_response(picture.rgb, frame)
    view = plate_view(picture.rgb, camera, place.map, response, drawing, frame)
    expect_unclipped(view)
    field = ground_field(view)
    return PhotoReading(
        photo=Photo(
            name=picture.name,
            digest=picture.digest,
            px_per_mm=frame.px_per_mm,
            edge=frame.edge,
            fit=frame.fit,
            markers=frame.markers,
            match=place.match,
            points=place.points,
        ),
        frame=frame,
        camera=camera,
        place=place,
        view=view,
        even=field.even,
        swell=field.swell,
        ground=float(np.median(view.luminance[view.ground])),
        inset=max(_LEAST_INSET, 0.8 * frame.edge),
        misfit=response.misfit,
        paper_clipped=response.clipped,
        turn=turns[best],
    )
