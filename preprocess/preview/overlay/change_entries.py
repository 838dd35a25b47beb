"""What is marked, layer by layer, and what was changed on the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.preview.drawing.canvas import Paint
from preprocess.preview.drawing.entries import LegendEntry, Section, counted, millimetres, square_mm
from preprocess.preview.drawing.fill_patterns import OF_LAYERS, ground, pattern, shade

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shapely import MultiLineString, MultiPolygon

    from preprocess.model.artwork.output import OutputLayer
    from preprocess.preview.overlay.difference import Difference, LayerChange

_SAME = "#bdbdbd"
"""Grey of what stays as it was drawn."""

_BLACK = "#000000"
_TWICE = "lines lay along one another: traced twice before, once now"
_THIN = 0.2
"""Mean width in mm below which what is taken away could not be seen at its true width."""

_FEW = 2.0
"""Areas whose mean width is below this many distances between lines are traced, not filled."""


def layer_entries(difference: Difference, colours: Mapping[str, str]) -> list[LegendEntry]:
    """The layers of the output: areas grey where nothing changed, else in their colours."""
    found = []
    for index, layer in enumerate(difference.layers):
        kin = [one.output.id for one in difference.layers if one.output.layer == layer.output.layer]
        place = (kin.index(layer.output.id), len(kin))
        colour = colours[layer.output.id]
        if not layer.stays.is_empty:
            found.append(_same(layer, colour))
        if not layer.changed.is_empty:
            found.append(_new(layer, ground(colour, *place), colour, index))
    traced = [(output, lines) for output, lines in difference.traced if not lines.is_empty]
    return [*found, *(_traced(output, lines, colours[output.id]) for output, lines in traced)]


def change_entries(difference: Difference) -> list[LegendEntry]:
    """What was added, taken away, or is now something else; only what there is."""
    found = [
        _dotted(difference.widened, "drawn as strokes, areas now", "widened"),
        _dotted(difference.added, "added to the artwork", "added"),
        _netted(difference.twice),
        _filled(difference),
        _removed(difference.removed),
        _bars(difference.bars),
        _lines(difference.twice_lines, _TWICE, Paint(stroke=_BLACK, width=0.3, dash="2.4 1 0.3 1")),
        _lines(difference.lost_lines, "lines taken away", Paint(stroke=_BLACK, dash="0.9 0.9")),
        _lines(difference.new_lines, "lines added", Paint(stroke=_BLACK, width=0.7, dash="0 1.2")),
    ]
    return [entry for entry in found if not entry.geometry.is_empty]


def _same(layer: LayerChange, colour: str) -> LegendEntry:
    return LegendEntry(
        section=Section.LAYER,
        geometry=layer.stays,
        paint=Paint(fill=_SAME, stroke=colour, width=0.15),
        words=f"{_named(layer.output)}, as drawn",
        amount=square_mm(layer.stays.area),
    )


def _new(layer: LayerChange, fill: str, colour: str, index: int) -> LegendEntry:
    kind, name = OF_LAYERS[index % len(OF_LAYERS)], f"layer-{index}"
    return LegendEntry(
        section=Section.LAYER,
        geometry=layer.changed,
        paint=Paint(fill=fill, pattern=name if kind else "", stroke=colour, width=0.12),
        words=_named(layer.output) + ("" if layer.stays.is_empty else ", changed"),
        amount=square_mm(layer.changed.area),
        patterns=(pattern(name, kind, shade(colour, 0.7), width=0.18),) if kind else (),
    )


def _traced(output: OutputLayer, lines: MultiLineString, colour: str) -> LegendEntry:
    return LegendEntry(
        section=Section.LAYER,
        geometry=lines,
        paint=Paint(stroke=colour, width=0.45),
        words=_named(output),
        amount=millimetres(lines.length),
    )


def _named(output: OutputLayer) -> str:
    words, power = f"{output.id}: {output.operation}", output.settings.power
    return words if power is None else f"{words} at {100 * power:.4g} %"


def _dotted(area: MultiPolygon, words: str, name: str) -> LegendEntry:
    return _change(
        area,
        Paint(pattern=name, stroke=_BLACK, width=0.3 if name == "added" else 0.15),
        words,
        pattern(name, "dots", _BLACK, width=0.3 if name == "added" else 0.2, scale=0.75),
    )


def _netted(area: MultiPolygon) -> LegendEntry:
    words = "lay one over another: marked twice before, once now"
    paint = Paint(pattern="twice", stroke=_BLACK, width=0.15)
    return _change(area, paint, words, pattern("twice", "net", _BLACK, width=0.16, scale=0.7))


def _filled(difference: Difference) -> LegendEntry:
    words = f"areas before, filled with lines {difference.spacing:.2g} mm apart now"
    if 2 * difference.hatched.area < _FEW * difference.spacing * difference.hatched.length:
        words = "thin areas before, traced by lines now"
    return _change(difference.hatched, Paint(stroke=_BLACK, width=0.35, dash="1.2 0.6"), words)


def _removed(area: MultiPolygon) -> LegendEntry:
    words = f"taken away in {counted(len(area.geoms), 'place')}"
    if area.length and 2 * area.area / area.length < _THIN:
        words += ", drawn bolder than true"
    paint = Paint(fill=_BLACK, pattern="removed", stroke=_BLACK, width=0.3)
    return _change(area, paint, words, pattern("removed", "falling", "#ffffff", width=0.2))


def _bars(area: MultiPolygon) -> LegendEntry:
    words = f"{counted(len(area.geoms), 'bar')} added beside the art"
    paint = Paint(fill="#ffffff", pattern="bars", stroke=_BLACK, width=0.25)
    return _change(area, paint, words, pattern("bars", "rising", _BLACK, width=0.35))


def _change(area: MultiPolygon, paint: Paint, words: str, *patterns: str) -> LegendEntry:
    return LegendEntry(
        section=Section.CHANGE,
        geometry=area,
        paint=paint,
        words=words,
        amount=square_mm(area.area),
        patterns=patterns,
    )


def _lines(lines: MultiLineString, words: str, paint: Paint) -> LegendEntry:
    return LegendEntry(
        section=Section.CHANGE,
        geometry=lines,
        paint=paint,
        words=words,
        amount=millimetres(lines.length),
    )
