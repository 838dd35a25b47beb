"""Legend entries of the marked layers, and of each kind of change."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import counted
from preprocess.preview.drawing.canvas import Paint
from preprocess.preview.drawing.entries import Section, measured_entry
from preprocess.preview.drawing.fill_patterns import OF_LAYERS, fill_pattern, ground, shade
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shapely import MultiLineString, MultiPolygon

    from preprocess.model.artwork.output import OutputLayer
    from preprocess.preview.drawing.entries import LegendEntry
    from preprocess.preview.overlay.difference import Difference, LayerChange

_SAME = "#bdbdbd"
"""Grey of areas that stay as they were drawn."""

_BLACK = "#000000"
_THIN = 0.2
"""Mean width in mm below which a removed area could not be seen at its true width."""

_WORTH = 0.005
"""mm²: less than amounts show."""

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
            paint = Paint(fill=_SAME, stroke=colour, width=0.15)
            words = f"{_named(layer.output)}, as drawn"
            found.append(measured_entry(Section.LAYER, layer.stays, paint, words))
        if not layer.changed.is_empty:
            found.append(_new(layer, ground(colour, *place), colour, index))
    for output, lines in difference.traced:
        if not lines.is_empty:
            paint = Paint(stroke=colours[output.id], width=0.45)
            found.append(measured_entry(Section.LAYER, lines, paint, _named(output)))
    return found


def change_entries(difference: Difference) -> list[LegendEntry]:
    """Additions, removals and conversions; only those that there are."""
    found = [
        _dotted(difference.widened, "drawn as strokes, areas now", "widened", (0.15, 0.2)),
        _dotted(difference.added, "added to the artwork", "added", (0.3, 0.3)),
        _netted(difference),
        _filled(difference),
        _removed(difference.removed),
        _bars(difference.bars),
        _change(
            difference.twice_lines,
            Paint(stroke=_BLACK, width=0.3, dash="2.4 1 0.3 1"),
            "overlapping lines: traced twice before, once now",
        ),
        _change(difference.lost_lines, Paint(stroke=_BLACK, dash="0.9 0.9"), "lines removed"),
        _change(difference.new_lines, Paint(stroke=_BLACK, width=0.7, dash="0 1.2"), "lines added"),
    ]
    return [entry for entry in found if not entry.geometry.is_empty]


def _new(layer: LayerChange, fill: str, colour: str, index: int) -> LegendEntry:
    if layer.output.in_greys:
        words = f"{layer.output.id}: image of greys, see the levels of power"
        paint = Paint(fill="#ffffff", stroke=colour, width=0.05)
        return measured_entry(Section.LAYER, layer.changed, paint, words)
    kind, name = OF_LAYERS[index % len(OF_LAYERS)], f"layer-{index}"
    paint = Paint(fill=fill, pattern=name if kind else "", stroke=colour, width=0.12)
    words = _named(layer.output) + ("" if layer.stays.is_empty else ", changed")
    patterns = [fill_pattern(name, kind, shade(colour, 0.7), width=0.18)] if kind else []
    return measured_entry(Section.LAYER, layer.changed, paint, words, *patterns)


def _named(output: OutputLayer) -> str:
    words, power = f"{output.id}: {output.operation}", output.settings.power
    return words if power is None else f"{words} at {digits(100 * power, 4)} %"


def _dotted(area: MultiPolygon, words: str, name: str, widths: tuple[float, float]) -> LegendEntry:
    outline, dots = widths
    paint = Paint(pattern=name, stroke=_BLACK, width=outline)
    return _change(area, paint, words, fill_pattern(name, "dots", _BLACK, width=dots, scale=0.75))


def _netted(difference: Difference) -> LegendEntry:
    paint = Paint(pattern="twice", stroke=_BLACK, width=0.15)
    net = fill_pattern("twice", "net", _BLACK, width=0.16, scale=0.7)
    words = "overlapping areas: marked twice before, once now"
    if difference.too_much > difference.twice.area + _WORTH:
        words = "overlapping areas: marked twice or more before, once now; "
        words += f"{difference.too_much:.2f} mm² too much in all"
    return _change(difference.twice, paint, words, net)


def _filled(difference: Difference) -> LegendEntry:
    words = f"areas before, filled with lines {digits(difference.spacing, 2)} mm apart now"
    if 2 * difference.hatched.area < _FEW * difference.spacing * difference.hatched.length:
        words = "thin areas before, traced by lines now"
    return _change(difference.hatched, Paint(stroke=_BLACK, width=0.35, dash="1.2 0.6"), words)


def _removed(area: MultiPolygon) -> LegendEntry:
    words = f"removed in {counted(len(area.geoms), 'place')}"
    if area.length and 2 * area.area / area.length < _THIN:
        words += ", drawn bolder than true"
    paint = Paint(fill=_BLACK, pattern="removed", stroke=_BLACK, width=0.3)
    return _change(area, paint, words, fill_pattern("removed", "falling", "#ffffff", width=0.2))


def _bars(area: MultiPolygon) -> LegendEntry:
    words = f"{counted(len(area.geoms), 'bar')} added beside the art"
    paint = Paint(fill="#ffffff", pattern="bars", stroke=_BLACK, width=0.25)
    return _change(area, paint, words, fill_pattern("bars", "rising", _BLACK, width=0.35))


def _change(
    geometry: MultiPolygon | MultiLineString, paint: Paint, words: str, *patterns: str
) -> LegendEntry:
    return measured_entry(Section.CHANGE, geometry, paint, words, *patterns)
