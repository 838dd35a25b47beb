"""Playback of a job as data: what the page needs of a conversion and its two predictions."""

from __future__ import annotations

import base64
import json
import zlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

from preprocess.geometry.base.bounds import joint_bounds
from preprocess.marking.job.grey_rows import image_outline
from preprocess.playback.block.beam_columns import LENGTH, LIGHT, TIME
from preprocess.playback.block.columns import written_columns
from preprocess.playback.block.detail import KeptDetail
from preprocess.playback.block.heat_constants import heat_constants, thicknesses
from preprocess.playback.block.playback_facts import (
    finding_facts,
    index_facts,
    layer_facts,
    to_nine_digits,
)
from preprocess.playback.block.shape_columns import KINDS, OUTLINE
from preprocess.playback.block.side_parts import PARTS, side_source

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from preprocess.findings import Finding
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.pipeline import Conversion
    from preprocess.playback.block.side_parts import SidePart, SideSource

_T = TypeVar("_T")

SIDES = "As drawn", "As rewritten"

MOST = 2_400_000
"""Characters that head and data may take together in a page."""

_SHARES = {"beam": 0.5, "index": 0.2, "outlines": 0.3}
"""What each part may take of that where all of them are too large."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Playback:
    """A job as data: `head` holds plain JSON-able facts, `data` columns of whole numbers.

    What stands where is told at the head of preprocess/playback/scripts/job.mjs.
    """

    head: dict[str, Any]
    data: bytes


def playback_of(
    conversion: Conversion,
    predictions: tuple[Prediction, Prediction],
    title: str = "",
    *,
    most: int = MOST,
) -> Playback:
    """The drawing as read and its output, ready to be played back.

    Args:
        conversion: the drawing through its recipe.
        predictions: of the drawing as read and of the output, as `predict_both` makes them.
        title: what to call the job; the design's name without one.
        most: how many characters it may take in a page; detail is left out until it does.
    """
    artworks = conversion.drawn, conversion.after
    steps = [step for one in predictions for step in one.plan.steps]
    heat = heat_constants(conversion.bench, [len(one.parts) for one in artworks], steps)
    box, page, window = seen_box(*artworks), conversion.after.page, heat.medium.window
    machine = conversion.bench.machine_or_default
    sources = [
        side_source(artwork, one, machine, heat, (box[0], box[1]))
        for artwork, one in zip(artworks, predictions, strict=True)
    ]
    sides = _side_facts(conversion, sources)
    head = {
        "title": title or conversion.name,
        "box": [round(mm, 3) for mm in box],
        "page": [page.left, page.top, page.width, page.height],
        "window": {"weak": window.weak, "heavy": window.heavy, "molten": window.molten},
        "units": {"length": LENGTH, "time": TIME, "light": LIGHT, "outline": OUTLINE},
        "kinds": list(KINDS),
        "heat": heat.facts(),
    }
    detail, parts = _fitting(sources, most - _text_size([head, sides]))
    whole, data = [], b""
    for side, mine in zip(sides, parts, strict=True):
        columns, more = written_columns(_joined([part.columns for part in mine]), len(data))
        whole.append(_joined([side, *(part.facts for part in mine), {"columns": columns}]))
        data += more
    head |= {"parts": whole[-1]["parts"], "simplified": detail.sentences, "sides": whole}
    return Playback(head=to_nine_digits(head), data=data)


def _fitting(
    sources: Sequence[SideSource], most: int
) -> tuple[KeptDetail, list[tuple[SidePart, ...]]]:
    """As much detail as fits: the part that takes most for its share is made with less first."""
    detail, most_sets = KeptDetail(), max(len(one.sets) for one in sources)
    made = {name: [make(one, detail) for one in sources] for name, make in PARTS.items()}
    sizes = {name: _size(parts) for name, parts in made.items()}
    while sum(sizes.values()) > most and detail.every <= most_sets:
        worst = max(_SHARES, key=lambda name: sizes[name] / _SHARES[name])
        before, detail = detail, detail.less(worst)
        for name in PARTS if detail.every > before.every else [worst]:
            made[name] = [PARTS[name](one, detail) for one in sources]
            sizes[name] = _size(made[name])
    return detail, list(zip(*made.values(), strict=True))


def _size(parts: Sequence[SidePart]) -> int:
    """Characters that columns and facts of all sides take in a page."""
    written = [written_columns(part.columns, 0) for part in parts]
    facts = [[part.facts for part in parts], [directory for directory, _ in written]]
    return _text_size(facts) + sum(len(_packed(data)) for _, data in written)


def _text_size(facts: Sequence[Any]) -> int:
    return len(_packed(_text(to_nine_digits(facts))))


def packed(playback: Playback) -> tuple[str, str]:
    """Head and data, deflated without a frame and written in base64; the same bytes each time."""
    return _packed(_text(playback.head)), _packed(playback.data)


def _text(facts: Any) -> bytes:
    return json.dumps(facts, separators=(",", ":"), ensure_ascii=False).encode()


def _packed(data: bytes) -> str:
    deflate = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    return base64.b64encode(deflate.compress(data) + deflate.flush()).decode()


def _joined(some: Iterable[Mapping[str, _T]]) -> dict[str, _T]:
    return {key: value for one in some for key, value in one.items()}


def _side_facts(conversion: Conversion, sources: Sequence[SideSource]) -> list[dict[str, Any]]:
    """Facts of both sides that no lack of room changes."""
    told = sources[0].prediction.findings, (*_back(conversion), *sources[1].prediction.findings)
    sides = []
    for name, source, findings in zip(SIDES, sources, told, strict=True):
        artwork, prediction, solids = source.artwork, source.prediction, list(source.heat.solids)
        thick = thicknesses(conversion.bench, len(artwork.parts))
        sides.append(
            {
                "name": name,
                "total": prediction.schedule.total,
                "solidOf": [solids.index(one) for one in thick],
                "layers": layer_facts(artwork, prediction, conversion.colours),
                "findings": finding_facts(findings),
                "index": index_facts(prediction.heat),
            }
        )
    return sides


def seen_box(*artworks: Artwork) -> Bounds:
    """Box of all that is seen, mm: marks, bars, images and parts; that of the page without any."""
    shapes = [shape for artwork in artworks for shape in artwork.shapes]
    images = [image_outline(shape.grey) for shape in shapes if shape.grey is not None]
    marks = [area for s in shapes for area in (s.geometry, s.bars) if area is not None]
    parts = [part for artwork in artworks for part in artwork.parts]
    page = artworks[-1].page
    whole = (page.left, page.top, page.left + page.width, page.top + page.height)
    return joint_bounds([*marks, *images, *parts]) or whole


def _back(conversion: Conversion) -> tuple[Finding, ...]:
    """Findings of the conversion with their places where the drawing has them."""
    page = conversion.after.page
    return tuple(
        one
        if one.spot is None
        else replace(one, spot=(one.spot[0] + page.left, one.spot[1] + page.top))
        for one in conversion.findings
    )
