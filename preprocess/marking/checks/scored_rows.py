"""Findings on the heat of rows that are scored instead of engraved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import Finding, note
from preprocess.marking.heat.index_images import lit_values, weighted_quantile
from preprocess.marking.job.plan import LineWork

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.job.plan import Plan


def scored_findings(heat: HeatIndex, plan: Plan) -> Iterator[Finding]:
    """The heat index of each layer of own rows.

    A later round passes beside rows of an earlier one, but never makes them hotter than their own
    did: no run of it lies on them.
    """
    own = [image for image in heat.images if isinstance(plan.steps[image.step], LineWork)]
    for output in dict.fromkeys(image.output for image in own):
        mine = [image for image in own if image.output == output]
        index, weight = lit_values(mine)
        if not len(index):
            continue
        rounds = len({image.round for image in mine})
        middle, most = weighted_quantile(index, weight, 0.5), float(index.max())
        trust = f" ({heat.trust})" if heat.trust else ""
        message = (
            f"rows of {output} are scored, in {rounds} {'rounds' if rounds > 1 else 'round'}: "
            f"predicted heat index {middle:.2f} in the median, {most:.2f} at the hottest"
            f"{trust}"
        )
        yield note("scored-rows", message)
