"""A small picture for the page of each pass: its first fixture before and after.

Made by ``python -m tests.fresh_docs --write`` together with the pages.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import shapely

from preprocess.engine import registry
from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.pipeline import convert
from preprocess.preview.drawing.canvas import Viewport, mm
from preprocess.recipe.load import load_recipe

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.pipeline import Conversion

SIDE, GAP, TOP, LINE, MOST = 80.0, 8.0, 9.0, 4.6, 70.0
ROOM = 5.0
"""mm on the sheet: a shape less wide or high does not hold its number."""

NUMBERED = frozenset({"order-shapes", "split"})
"""Passes whose work shows in the order of shapes."""


def pictures(root: Path) -> dict[str, str]:
    """All pictures by their path below `root`."""
    made = {}
    for name in registry.pass_names():
        folder = root / "fixtures" / "passes" / name
        cases = sorted(p.parent for p in folder.glob("*/recipe.yaml"))
        if cases and (cases[0] / "in.svg").is_file():
            made[f"docs/reference/passes/pictures/{name}.svg"] = picture(cases[0], name)
    return made


def picture(case: Path, name: str) -> str:
    """Before and after of one case, side by side."""
    loaded = load_recipe(case / "recipe.yaml", None, str(case / "in.svg"))
    drawing = replace(loaded.options.drawing, tolerance=max(0.01, loaded.options.drawing.tolerance))
    loaded = replace(loaded, options=replace(loaded.options, drawing=drawing))
    result = convert(loaded, (case / "in.svg").read_bytes(), "in.svg")
    return _sheet(result, f"{name}: {case.name.replace('-', ' ')}", numbered=name in NUMBERED)


def _sheet(result: Conversion, title: str, *, numbered: bool) -> str:
    left, top, right, bottom = shapely.total_bounds([_around(result.before), _around(result.after)])
    scale = min(SIDE / (right - left), MOST / (bottom - top))
    frames = [
        Viewport(scale=scale, origin=(left, top), corner=(GAP + i * (SIDE + GAP), TOP))
        for i in range(2)
    ]
    height = (bottom - top) * scale
    legend = list(_legend(result, GAP + SIDE + GAP, TOP + height + LINE + 1))
    total = TOP + height + LINE * len(legend) + 5
    width = 2 * SIDE + 3 * GAP
    size = f'width="{mm(width * 4)}" height="{mm(total * 4)}"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {mm(width)} {mm(total)}">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{mm(width)}" height="{mm(total)}" fill="#ffffff"/>',
        *(
            _words(frame.corner[0], 6, word)
            for frame, word in zip(frames, ("before", "after"), strict=True)
        ),
        *_parts(result.before, frames[0]),
        *_before(result.before, frames[0]),
        *_parts(result.after, frames[1]),
        *_after(result, frames[1]),
        *(_numbers(result.before, frames[0]) if numbered else ()),
        *(_numbers(result.after, frames[1]) if numbered else ()),
        *legend,
    ]
    return "\n".join([*lines, "</svg>", ""])


def _around(artwork: Artwork) -> shapely.Geometry:
    page = artwork.page
    boxes = [shapely.box(page.left, page.top, page.left + page.width, page.top + page.height)]
    boxes += [s.geometry for s in artwork.shapes] + [s.bars for s in artwork.shapes if s.bars]
    return shapely.box(*shapely.total_bounds(boxes))


def _parts(artwork: Artwork, frame: Viewport) -> Iterator[str]:
    for part in artwork.parts:
        yield f'<path fill="#f3eee0" stroke="#4d4d4d" stroke-width=".3" d="{frame.data(part)}"/>'


def _before(artwork: Artwork, frame: Viewport) -> Iterator[str]:
    """Shapes as painted: strokes with their width; what lies twice is darker."""
    for shape in artwork.shapes:
        area = shape.geometry
        if not shape.is_area and shape.stroke is not None:
            area = outline_stroke(area, shape.stroke)
        if not shape.is_area and (shape.stroke is None or area.is_empty):
            continue
        yield (
            '<path fill="#5f5f5f" fill-opacity=".55" stroke="#222222" stroke-width=".15" '
            f'fill-rule="evenodd" d="{frame.data(area)}"/>'
        )


def _after(result: Conversion, frame: Viewport) -> Iterator[str]:
    for output in output_layers(result.after):
        colour = result.colours[output.id]
        for shape in output.shapes:
            if output.operation is Operation.ENGRAVE:
                paint = f'fill="{colour}" fill-rule="evenodd" stroke="#222222" stroke-width=".1"'
            else:
                paint = f'fill="none" stroke="{colour}" stroke-width=".3"'
            yield f'<path {paint} d="{frame.data(shape.geometry)}"/>'
            if shape.bars is not None:
                yield f'<path fill="{colour}" d="{frame.data(shape.bars)}"/>'


def _numbers(artwork: Artwork, frame: Viewport) -> Iterator[str]:
    """The number of each shape on its pieces; above what is too small to hold it."""
    for number, piece in (
        (number, piece)
        for number, shape in enumerate(artwork.shapes, 1)
        for piece in shapely.get_parts(frame.on_sheet(shape.geometry))
    ):
        left, top, right, bottom = piece.bounds
        small = min(right - left, bottom - top) < ROOM
        point = shapely.Point((left + right) / 2, top - 2.4) if small else piece.point_on_surface()
        place = f'x="{mm(point.x)}" y="{mm(point.y + 1.4)}" text-anchor="middle"'
        font = 'font-family="sans-serif" font-size="4"'
        for paint in ('fill="#ffffff" stroke="#ffffff" stroke-width="1.2"', 'fill="#222222"'):
            yield f"<text {place} {font} {paint}>{number}</text>"


def _legend(result: Conversion, x: float, y: float) -> Iterator[str]:
    for row, output in enumerate(output_layers(result.after)):
        power = output.settings.power
        words = f"{output.id}: {output.operation}"
        words += "" if power is None else f" at {100 * power:.4g} %"
        here = y + row * LINE
        colour = result.colours[output.id]
        yield (
            f'<rect x="{mm(x)}" y="{mm(here - 2.6)}" width="5" height="3" fill="{colour}"/>'
            + _words(x + 7, here, words)
        )


def _words(x: float, y: float, words: str) -> str:
    return (
        f'<text x="{mm(x)}" y="{mm(y)}" font-family="sans-serif" font-size="3.6" '
        f'fill="#222222">{escape(words)}</text>'
    )
