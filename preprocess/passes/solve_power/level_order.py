"""Order of levels: that of their rows where possible, so that heat is continuous.

A level marked before the one above it starts on cold plastic, and its last warmth serves no later
row. In row order each level begins at the end of the one before.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

from preprocess.findings import Finding, note
from preprocess.marking.job.plan import RasterGroup, plan_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


def put_in_row_order(artwork: Artwork, bench: Bench, names: Collection[str]) -> Artwork:
    """The artwork with its levels in the order of their rows, layer by layer.

    Only where each level is one band of rows. Levels that alternate, as at both ends of a leaf,
    stay as they are. `names` are the output layers to order.
    """
    groups = [
        s for s in plan_of(artwork, bench.machine_or_default).steps if isinstance(s, RasterGroup)
    ]
    mine = [group for group in groups if group.output.level and group.output.id in names]
    orders = {
        layer: _order(list(same)) for layer, same in groupby(mine, key=lambda g: g.output.layer)
    }
    layers = (replace(x, order=orders.get(x.name, x.order)) for x in artwork.layers)
    return replace(artwork, layers=tuple(layers))


def _order(groups: list[RasterGroup]) -> tuple[int, ...]:
    """Levels in row order; empty where they are no bands, or are in that order already."""
    bands: dict[int, list[RasterGroup]] = {}
    for group in groups:
        bands.setdefault(group.output.level or 0, []).append(group)
    first = {level: min(g.first for g in some) for level, some in bands.items()}
    last = {
        level: max(g.first + g.pitch * (g.count - 1) for g in some) for level, some in bands.items()
    }
    order = sorted(bands, key=lambda level: first[level])
    alike = len({(group.angle, group.pitch) for group in groups}) == 1
    apart = all(first[two] > last[one] for one, two in pairwise(order))
    if not (alike and apart) or order == sorted(order):
        return ()
    return tuple(order)


def reorder_findings(artwork: Artwork) -> Iterator[Finding]:
    """Layers that are not marked from the widest level on."""
    for layer in artwork.layers:
        if layer.order:
            shown = ", ".join(f"{layer.name}-{level}" for level in layer.order)
            message = f"levels are marked in the order of their rows: {shown}"
            remedy = "keep this order, that of the file, in the laser software"
            yield replace(note("levels-in-row-order", message, remedy), layer=layer.name)
