"""Playback of a job as data: what the page needs of a conversion and its two predictions."""

from __future__ import annotations

import base64
import json
import zlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from preprocess.geometry.base.bounds import joint_bounds
from preprocess.marking.job.grey_rows import image_outline
from preprocess.playback.block.beam_columns import LENGTH, LIGHT, TIME, set_columns, visit_columns
from preprocess.playback.block.beam_sets import beam_sets
from preprocess.playback.block.columns import written_columns
from preprocess.playback.block.heat_constants import heat_constants, thicknesses
from preprocess.playback.block.index_columns import index_columns
from preprocess.playback.block.playback_facts import (
    finding_facts,
    index_facts,
    layer_facts,
    to_nine_digits,
)
from preprocess.playback.block.set_styles import frames_of, set_styles
from preprocess.playback.block.shape_columns import (
    KINDS,
    OUTLINE,
    outline_numbers,
    shape_columns,
)

if TYPE_CHECKING:
    from preprocess.findings import Finding
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.pipeline import Conversion
    from preprocess.playback.block.heat_constants import HeatConstants

SIDES = "As drawn", "As rewritten"


@dataclass(frozen=True, slots=True, kw_only=True)
class Playback:
    """A job as data: `head` holds plain JSON-able facts, `data` columns of whole numbers.

    What stands where is told at the head of preprocess/playback/scripts/job.mjs.
    """

    head: dict[str, Any]
    data: bytes


@dataclass(frozen=True, slots=True)
class _Detail:
    """How much is kept: outlines to so many mm, the index of so many cells a side."""

    tolerance: float = 0.01
    cells: int = 250_000


def playback_of(
    conversion: Conversion, predictions: tuple[Prediction, Prediction], title: str = ""
) -> Playback:
    """The drawing as read and its output, ready to be played back.

    Args:
        conversion: the drawing through its recipe.
        predictions: of the drawing as read and of the output, as `predict_both` makes them.
        title: what to call the job; the design's name without one.
    """
    artworks = conversion.drawn, conversion.after
    steps = [step for one in predictions for step in one.plan.steps]
    heat = heat_constants(conversion.bench, [len(one.parts) for one in artworks], steps)
    box = _box(*artworks)
    corner = box[0], box[1]
    detail = _Detail()
    sides, blocks, at = [], [], 0
    told = predictions[0].findings, (*_back(conversion), *predictions[1].findings)
    for name, artwork, one, findings in zip(SIDES, artworks, predictions, told, strict=True):
        head, data = _side(conversion, artwork, one, (heat, corner, detail, at))
        head |= {"name": name, "findings": finding_facts(findings)}
        sides.append(head)
        blocks.append(data)
        at += len(data)
    page = conversion.after.page
    window = heat.medium.window
    head = {
        "title": title or conversion.name,
        "box": [round(mm, 3) for mm in box],
        "page": [page.left, page.top, page.width, page.height],
        "parts": sides[-1]["parts"],
        "window": {"weak": window.weak, "heavy": window.heavy, "molten": window.molten},
        "units": {"length": LENGTH, "time": TIME, "light": LIGHT, "outline": OUTLINE},
        "kinds": list(KINDS),
        "heat": heat.facts(),
        "sides": sides,
    }
    return Playback(head=to_nine_digits(head), data=b"".join(blocks))


def packed(playback: Playback) -> tuple[str, str]:
    """Head and data, deflated without a frame and written in base64; the same bytes each time."""
    head = json.dumps(playback.head, separators=(",", ":"), ensure_ascii=False)
    return _packed(head.encode()), _packed(playback.data)


def _packed(data: bytes) -> str:
    deflate = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    return base64.b64encode(deflate.compress(data) + deflate.flush()).decode()


def _side(
    conversion: Conversion,
    artwork: Artwork,
    prediction: Prediction,
    how: tuple[HeatConstants, tuple[float, float], _Detail, int],
) -> tuple[dict[str, Any], bytes]:
    heat, corner, detail, at = how
    plan, machine = prediction.plan, conversion.bench.machine_or_default
    bodies = list(artwork.parts) or [None]
    sets, visits = beam_sets(plan, prediction.schedule, heat.medium.watts, bodies)
    layers = layer_facts(artwork, prediction, conversion.colours)
    frames = frames_of(sets)
    names = [layer["name"] for layer in layers]
    styles, style_of = set_styles(sets, plan, machine, heat, (frames, names))
    index, cells = index_columns(prediction.heat.images, sets, detail.cells)
    columns, data = written_columns(
        {
            **visit_columns(visits, sets, style_of),
            **set_columns(sets, styles, style_of, frames),
            **cells,
            **shape_columns(artwork, corner, detail.tolerance),
        },
        at,
    )
    solids = list(heat.solids)
    head = {
        "parts": outline_numbers(artwork.parts, detail.tolerance),
        "solidOf": [solids.index(one) for one in thicknesses(conversion.bench, len(artwork.parts))],
        "total": prediction.schedule.total,
        "layers": layers,
        "index": {**index_facts(prediction.heat), **index},
        "frames": frames.facts,
        "styles": styles,
        "corner": corner,
        "columns": columns,
    }
    return head, data


def _box(*artworks: Artwork) -> Bounds:
    """Box of all that is seen, mm: marks, bars, images and parts; that of the page without any."""
    shapes = [shape for artwork in artworks for shape in artwork.shapes]
    images = [image_outline(shape.grey) for shape in shapes if shape.grey is not None]
    marks = [area for s in shapes for area in (s.geometry, s.bars) if area is not None]
    page = artworks[-1].page
    whole = (page.left, page.top, page.left + page.width, page.top + page.height)
    return joint_bounds([*marks, *images, *artworks[-1].parts]) or whole


def _back(conversion: Conversion) -> tuple[Finding, ...]:
    """Findings of the conversion with their places where the drawing has them."""
    page = conversion.after.page
    return tuple(
        one
        if one.spot is None
        else replace(one, spot=(one.spot[0] + page.left, one.spot[1] + page.top))
        for one in conversion.findings
    )
