"""Findings about areas that became rows to score."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Finding, counted, note, warn
from preprocess.geometry.offset.opening import opening_residue
from preprocess.geometry.overlay.booleans import union
from preprocess.model.artwork.settings import Operation
from preprocess.passes._shared.rowless import rowless_findings
from preprocess.passes._shared.score_settings import score_settings
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape

    Pairs = Sequence[tuple[Shape, Shape]]

_SPECK = 1e-3
"""Areas in mm² and lengths in mm below this are not worth a finding."""


def hatch_findings(
    artwork: Artwork, pairs: Pairs, *, inset: float | None, run_out: float
) -> Iterator[Finding]:
    """All findings about areas and the rows that replace them.

    Args:
        artwork: the artwork before.
        pairs: each area with its rows, which may be empty.
        inset: how far the rows keep inside, mm; None if unknown.
        run_out: how far they go on beyond their ends, mm.
    """
    if not pairs:
        yield note("nothing-to-hatch", "no engraved area is chosen to be filled with rows")
        return
    for layer in dict.fromkeys(old.layer for old, _ in pairs):
        mine = [pair for pair in pairs if pair[0].layer == layer]
        yield _became(layer, mine)
        yield from score_settings(artwork, layer, "rows")
        yield from _company(artwork, layer)
        old, new = ([pair[n] for pair in mine] for n in (0, 1))
        yield from rowless_findings(layer, old, new, "hatch a smaller inset or pitch")
    if inset is None:
        message = "the machine's spot size is missing: rows mark half a spot beyond the drawn edge"
        yield note("inset-unknown", message, "give the machine its spot, or hatch an inset")
    yield from _thin(pairs, inset or 0.0)
    yield from _twice(pairs)
    if run_out:
        yield from _beyond(pairs)


def _became(layer: str, pairs: Pairs) -> Finding:
    area = sum(old.geometry.area for old, _ in pairs)
    lines = sum(len(new.geometry.geoms) for _, new in pairs)
    length = sum(new.geometry.length for _, new in pairs)
    message = (
        f"{area:.2f} mm² of {layer} became {counted(lines, 'line')} to score, {length:.1f} mm in "
        "all; their heat is predicted as that of rows, round by round"
    )
    return note("areas-hatched", message, elements=_ids(pairs))


def _company(artwork: Artwork, layer: str) -> Iterator[Finding]:
    lines = [s for s in artwork.shapes_of(layer) if s.operation is Operation.SCORE]
    if lines:
        other = counted(len(lines), "scored path")
        message = f"rows of {layer} share power and speed with {other} of that layer"
        remedy = "for other settings, give one of them a layer of its own"
        yield note("rows-beside-lines", message, remedy, elements=[s.id for s in lines])


def _thin(pairs: Pairs, inset: float) -> Iterator[Finding]:
    """Necks and tips that the inset closes, of pieces that are wider elsewhere."""
    if not inset:
        return
    whole = union([old.geometry for old, _ in pairs])
    left = opening_residue(whole, 2 * inset)
    tips = left.pieces[~shapely.is_empty(left.cores)[left.owner]]
    area = float(shapely.area(tips).sum())
    if area > _SPECK:
        message = (
            f"no row in {area:.2f} mm² of {counted(len(tips), 'tip or neck', 'tips and necks')} "
            f"narrower than twice the inset of {digits(inset)} mm"
        )
        yield note("thin-places-unhatched", message, "give hatch a smaller inset")


def _twice(pairs: Pairs) -> Iterator[Finding]:
    areas = [old.geometry for old, _ in pairs]
    twice = sum(area.area for area in areas) - union(areas).area
    if twice > _SPECK:
        message = f"areas overlap by {twice:.2f} mm², and rows of both lie there"
        yield warn("rows-overlap", message, "put merge before hatch")


def _beyond(pairs: Pairs) -> Iterator[Finding]:
    area = union([old.geometry for old, _ in pairs])
    lines = shapely.get_parts(np.array([new.geometry for _, new in pairs], dtype=object))
    shapely.prepare(area)
    out = lines[~shapely.covered_by(lines, area)]
    length = float(shapely.length(shapely.difference(out, area)).sum())
    if length > _SPECK:
        message = f"run-outs mark {length:.1f} mm beyond the drawn areas, whatever lies there"
        yield note("rows-run-out", message, "if that is not intended, give hatch a shorter run_out")


def _ids(pairs: Pairs) -> list[str]:
    return list(dict.fromkeys(old.id for old, _ in pairs))
