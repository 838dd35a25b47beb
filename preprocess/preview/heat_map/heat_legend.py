"""Surroundings of the heat map: the meaning of lines and areas, and the index in figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import LineString, MultiLineString

from preprocess.findings import counted
from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.evenness.objective import evenness_objective
from preprocess.marking.evenness.sentence import places_words
from preprocess.model.artwork.settings import Operation
from preprocess.preview.drawing.backdrop import part_entries
from preprocess.preview.drawing.canvas import TEXT_SIZE, Paint, group, paragraph, text
from preprocess.preview.drawing.entries import LegendEntry, Section
from preprocess.preview.drawing.legend import COLUMN, COLUMN_GAP, LINE, legend
from preprocess.preview.drawing.page_layout import MARGIN

if TYPE_CHECKING:
    from shapely import Geometry

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.preview.heat_map.scale import HeatScale

_RIGHT = MARGIN + COLUMN + COLUMN_GAP
_GREY = Paint(fill="#d9d9d9", stroke="#8c8c8c", width=0.15)
_LINE_PAINT = Paint(stroke="#6e6e6e", width=0.3)
_SAMPLE = MultiLineString([LineString([(0, 0), (1, 0)])])
_MEANING = {
    "weak": "inside this line: predicted to be too weak",
    "heavy": "inside this line: predicted to be too heavy",
    "molten": "inside this line: predicted to melt",
}


def surroundings(artwork: Artwork) -> list[LegendEntry]:
    """Entries of parts, bars, and lines that the beam traces."""
    bars = [shape.bars for shape in artwork.shapes if shape.bars]
    traced = [s for s in artwork.shapes if s.operation in {Operation.SCORE, Operation.CUT}]
    lines = as_lines([s.geometry.boundary if s.is_area else s.geometry for s in traced])
    found = [_entry(e.geometry, e.paint, e.words) for e in part_entries(artwork)]
    if bars:
        words = f"{counted(len(bars), 'set')} of bars: they take time, and do not warm the part"
        found.append(_entry(union(bars), _GREY, words))
    if not lines.is_empty:
        words = "scored or cut lines: not part of the index"
        found.append(_entry(lines, _LINE_PAINT, words))
    return found


def heat_legend(
    artwork: Artwork, heat: HeatIndex, scale: HeatScale, y: float
) -> tuple[list[str], float]:
    """Lines and areas on the left, figures on the right, from y downward; and where it ends."""
    limits = [
        _entry(_SAMPLE, Paint(stroke="#000000", width=0.4, dash=one.dash), _MEANING[one.name])
        for one in scale.limits
    ]
    left, end = legend([*limits, *surroundings(artwork)], y, ((Section.MAP,),))
    right, other_end = _figures(heat, scale, y)
    return [*left, *right], max(end, other_end)


def _entry(geometry: Geometry, paint: Paint, words: str) -> LegendEntry:
    return LegendEntry(Section.MAP, geometry, paint, words)


def _figures(heat: HeatIndex, scale: HeatScale, y: float) -> tuple[list[str], float]:
    lines = [text(_RIGHT, y + TEXT_SIZE, "In figures", size=TEXT_SIZE * 1.1, bold=True)]
    y += LINE + 2.4
    for sentence in heat_sentences(heat, scale):
        more, y = paragraph(_RIGHT, y, sentence, COLUMN)
        lines += more
        y += 1.2
    return group("figures", "In figures", lines), y


def heat_sentences(heat: HeatIndex, scale: HeatScale) -> list[str]:
    """The index in words, in the unit of the scale."""
    median, p95, largest = (v / scale.base for v in (heat.median, heat.p95, heat.largest))
    found = [f"Median {median:.2f}, 95 % of the area below {p95:.2f}, largest {largest:.2f}."]
    even = evenness_objective(heat, time=0.0, layers=0)
    if even is not None:
        words = places_words(even.likely)
        found.append(f"{words[0].upper()}{words[1:]}, seams {100 * even.likely.seam:.0f} %.")
    if heat.span is not None:
        low, high = (v / scale.base for v in heat.span)
        found.append(f"With all that is uncertain, the largest is {low:.2f} to {high:.2f}.")
    if heat.calibrated:
        found.append(
            f"{100 * heat.too_weak:.1f} % of the area too weak, "
            f"{100 * heat.too_heavy:.1f} % too heavy, rims of rows included."
        )
    if heat.assumed:
        found.append(f"Assumed: {'; '.join(heat.assumed)}.")
    if heat.unknown:
        found.append(f"Not computed: {', '.join(heat.unknown)}.")
    return [*found, "This is a prediction; a test piece decides."]
