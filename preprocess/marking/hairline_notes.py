"""What a person should know of hairlines that are scored along their middle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.findings import Finding, note, warn
from preprocess.marking.score_settings import score_settings

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiLineString

    from preprocess.geometry.centre_lines import Hairlines
    from preprocess.model.artwork import Artwork
    from preprocess.model.shape import Shape

WIDER = 1.1
"""From this many strokes on, a hairline is wider than its lines cover."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """One area, what was found in it, and the lines that are scored instead of its thin part."""

    shape: Shape
    found: Hairlines
    lines: MultiLineString

    @property
    def widths(self) -> tuple[float, float]:
        """Least and greatest local width of its hairlines, mm."""
        widths = [one.width for one in self.found.strokes]
        return min(float(w.min()) for w in widths), max(float(w.max()) for w in widths)


def hairline_notes(
    artwork: Artwork, traced: Sequence[Traced], stroke: float | None, most: int
) -> Iterator[Finding]:
    """All findings about areas whose hairlines are scored.

    Args:
        artwork: the artwork before.
        traced: what became of each area.
        stroke: how wide a line marks, mm; None if nobody knows.
        most: how many lines may run side by side.
    """
    some = [one for one in traced if not one.lines.is_empty]
    if not some:
        yield note("no-hairlines", "no engraved area here is thin and long enough to be scored")
        return
    for one in some:
        yield _became(one)
    for layer in dict.fromkeys(one.shape.layer for one in some):
        yield from score_settings(artwork, layer, "hairlines")
    yield from _coverage(some, stroke, most)


def _became(one: Traced) -> Finding:
    low, high = one.widths
    lines, area = len(one.lines.geoms), one.found.thin.area
    message = (
        f"{area:.3g} mm² of {one.shape.id} became {lines} line{'' if lines == 1 else 's'} to "
        f"score, {one.lines.length:.2f} mm in all, along hairlines {low:.3f} to {high:.3f} mm wide"
    )
    finding = note("hairlines-scored", message, elements=[one.shape.id])
    x, y = one.lines.geoms[0].coords[0]
    return replace(finding, layer=one.shape.layer, spot=(x, y))


def _coverage(some: Sequence[Traced], stroke: float | None, most: int) -> Iterator[Finding]:
    ids = [one.shape.id for one in some]
    if stroke is None:
        message = "nobody knows how wide a scored line marks, so each hairline gets a single line"
        remedy = "name the machine's spot, or give score-hairlines a stroke"
        yield note("hairline-single", message, remedy, elements=ids)
        return
    widest = max(one.widths[1] for one in some)
    if widest > WIDER * most * stroke:
        message = (
            f"hairlines up to {widest:.3f} mm wide are wider than {most} lines of {stroke:g} mm "
            "side by side, and show gaps"
        )
        yield warn("hairline-gaps", message, "raise side_by_side, or lower narrower_than")
