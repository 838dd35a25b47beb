"""Findings on the heat of rows that are scored instead of engraved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import Finding, note, warn
from preprocess.marking.heat.index_images import lit_values, weighted_quantile

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.marking.heat.index import HeatIndex


def scored_findings(heat: HeatIndex) -> Iterator[Finding]:
    """The heat index of each layer of own rows, and a warning where it leaves the window.

    A later round passes beside rows of an earlier one, but never makes them hotter than their own
    did: no run of it lies on them.
    """
    for output in dict.fromkeys(image.output for image in heat.scored):
        mine = [image for image in heat.scored if image.output == output]
        index, weight = lit_values(mine)
        if not len(index):
            continue
        parts = len({image.part for image in mine})
        rounds = -(-len(mine) // parts)
        middle, most = weighted_quantile(index, weight, 0.5), float(index.max())
        beside = f", engraved areas {heat.median:.2f}" if heat.images else ""
        trust = f" ({heat.trust})" if heat.trust else ""
        message = (
            f"rows of {output} are scored, in {rounds} {'rounds' if rounds > 1 else 'round'}: "
            f"predicted heat index {middle:.2f} in the median{beside}, {most:.2f} at the hottest"
            f"{trust}"
        )
        if heat.calibrated and most > heat.window.heavy:
            remedy = "score with less power, or let hatch mark every third row first: every: 3"
            yield warn("scored-rows-too-heavy", message, remedy)
        elif heat.calibrated and middle < heat.window.weak:
            yield warn("scored-rows-too-weak", message, "score with more power, or slower")
        else:
            yield note("scored-rows", message)
