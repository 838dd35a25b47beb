"""What a person should know of shapes that were cut to keep areas clear."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.findings import Finding, note, warn
from preprocess.model.ledger import amount_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import Geometry, MultiPolygon

    from preprocess.model.shape import Shape

    Pairs = Sequence[tuple[Shape, Shape]]

TOLD_APART = 12
"""Up to this many cut shapes are told one by one, more in one sentence."""

SPECK = 1e-3
"""Areas in mm² and lengths in mm below this are not worth a finding."""


def clearing_notes(cut: Pairs, guides: Sequence[Shape], off: MultiPolygon) -> Iterator[Finding]:
    """All findings about shapes before and after, elements that became guides, and the areas."""
    cut = [(old, new) for old, new in cut if _lost(old, new)[0] > SPECK]
    gone = dict(pair for old, new in cut for pair in _vanished(old, new, off))
    if gone:
        how_many = _count(list(gone), "element")
        message = f"{how_many} would lie on areas that are kept clear: left out"
        remedy = "move them in the drawing if they are wanted, or give keep-clear a smaller margin"
        at = shapely.point_on_surface(next(iter(gone.values())))
        finding = warn("cleared-away", message, remedy, elements=gone)
        yield replace(finding, spot=(at.x, at.y))
    some = [(old, new) for old, new in cut if not new.geometry.is_empty]
    for few in [[pair] for pair in some] if len(some) <= TOLD_APART else [some]:
        yield _trimmed(few, off)
    if guides:
        message = (
            f"{_count(guides, 'element')} to keep clear of became guides and will not be marked"
        )
        yield note("clear-areas-unmarked", message, elements=[shape.id for shape in guides])
    if not cut:
        message = f"nothing lies on the {off.area:.2f} mm² that are kept clear"
        yield note("clear-already", message)


def _trimmed(pairs: Pairs, off: MultiPolygon) -> Finding:
    lost = [_lost(old, new) for old, new in pairs]
    unit = " and ".join(
        f"{sum(amount for amount, what in lost if what == one):.2f} {one}"
        for one in dict.fromkeys(what for _, what in lost)
    )
    ids = [old.id for old, _ in pairs]
    whose = ids[0] if len(ids) == 1 else _count(ids, "shape")
    message = f"{unit} of {whose} would lie on areas that are kept clear: cut away"
    return _placed(note("cut-clear", message, elements=ids), pairs, off)


def _placed(finding: Finding, pairs: Pairs, off: MultiPolygon) -> Finding:
    """With a point of the first thing that was lost."""
    old, _ = pairs[0]
    at = shapely.point_on_surface(shapely.intersection(old.geometry, off))
    layer = old.layer if len({one.layer for one, _ in pairs}) == 1 else None
    return finding if at.is_empty else replace(finding, layer=layer, spot=(at.x, at.y))


def _lost(old: Shape, new: Shape) -> tuple[float, str]:
    before, after = amount_of(old), amount_of(new)
    if old.is_area:
        return before.area - after.area, "mm²"
    return before.length - after.length, "mm"


def _vanished(old: Shape, new: Shape, off: MultiPolygon) -> Iterator[tuple[str, Geometry]]:
    """The shape, or those elements merged into it that lie on the areas altogether."""
    if new.geometry.is_empty:
        yield old.id, old.geometry
        return
    if len(old.sources) > 1:
        slack = off.buffer(SPECK)
        shapely.prepare(slack)
        known = [s for s in old.sources if s.geometry is not None and not s.geometry.is_empty]
        yield from ((s.id, s.geometry) for s in known if slack.covers(s.geometry))


def _count(things: Sequence[object], noun: str) -> str:
    return f"{len(things)} {noun}{'' if len(things) == 1 else 's'}"
