"""inset-tips: pulls ends that narrow below a width inward."""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import median
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, SEPARATE
from preprocess.engine.ledger import Amount, Change
from preprocess.engine.selection import selected_areas
from preprocess.findings import Finding, counted, note, one_by_one, warn
from preprocess.geometry.tips.tip_inset import Limit, TipRetreat, inset_tips
from preprocess.model.declared import Doc
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class InsetTips(Params):
    """Pull narrow ends inward, so that the mark stays inside the drawn edge.

    The distance grows from nothing, where the area is wide enough, to its full amount half way to
    the tip: no step shows. A tip with half angle a retreats by `by` / sin a, at most by `cap`.
    The blunt end of a stroke moves by `by`, at most by a quarter of its width; its sides stay.
    Ends wider than half the width move less, and from the full width on not at all. What has no
    end stays: rings, waists, the length of strokes and of thin lettering. Nothing vanishes or
    falls apart: a tip that would break moves less, and is told.
    """

    name: ClassVar = "inset-tips"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), keeps=frozenset({FILLED, MERGED, SEPARATE})
    )

    narrower_than: Annotated[Length, Gt(0), Doc("ends narrower than this are pulled in")]
    by: Annotated[Length, Gt(0), Doc("how far their outline moves inward")] = 0.05
    cap: Annotated[Length, Gt(0), Doc("how far a tip may retreat at most")] = 1.0

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Replace areas by areas inside them."""
        pairs: list[tuple[Shape, tuple[Shape]]] = []
        findings: list[Finding] = []
        for shape in selected_areas(artwork, self):
            area, retreats = inset_tips(shape.geometry, self.narrower_than, self.by, self.cap)
            if retreats:
                pairs.append((shape, (replace(shape, geometry=area),)))
                findings += _told(shape, retreats)
        return Outcome(
            artwork=artwork.exchanged(pairs),
            findings=tuple(findings),
            changes=tuple(_change(old, new) for old, (new,) in pairs),
        )


def _told(shape: Shape, retreats: Sequence[TipRetreat]) -> Iterator[Finding]:
    """Findings at the tip that retreats farthest, or that lacks most."""
    moved = [tip for tip in retreats if tip.by > 0]
    for tips in one_by_one(moved):
        message = (
            f"{counted(len(tips), 'tip')} of {shape.id} moved inward by "
            f"{_spread([tip.by for tip in tips])}, retreating "
            f"{_spread([tip.retreat for tip in tips])}, and lost "
            f"{sum(tip.removed for tip in tips):.4f} mm²"
        )
        at = max(tips, key=lambda tip: tip.retreat).at
        yield note("tip-inset", message, elements=[shape.id], layer=shape.layer, spot=at)
    for tips in one_by_one([tip for tip in moved if tip.limit is Limit.CAP]):
        message = f"{_less(shape, tips)}: the cap is reached"
        remedy = "raise the cap, or make these ends blunter in the drawing"
        at = _most_lacking(tips)
        yield note("tip-capped", message, remedy, elements=[shape.id], layer=shape.layer, spot=at)
    for tips in one_by_one([tip for tip in moved if tip.limit is Limit.WHOLENESS]):
        message = f"{_less(shape, tips)}: by more it would fall apart"
        remedy = "thicken the narrowest place of each in the drawing, or ask for less"
        at = _most_lacking(tips)
        yield note("tip-held", message, remedy, elements=[shape.id], layer=shape.layer, spot=at)
    for tips in one_by_one([tip for tip in retreats if tip.by == 0]):
        places = counted(len(tips), "tip")
        message = f"{places} of {shape.id} would vanish or fall apart, so stayed as drawn"
        remedy = "thicken them in the drawing, or score them as lines"
        at = _most_lacking(tips)
        yield warn("tip-left", message, remedy, elements=[shape.id], layer=shape.layer, spot=at)


def _most_lacking(tips: Sequence[TipRetreat]) -> tuple[float, float]:
    return max(tips, key=lambda tip: tip.wanted - tip.by).at


def _less(shape: Shape, tips: Sequence[TipRetreat]) -> str:
    wanted = _spread([tip.wanted for tip in tips])
    moved = _spread([tip.by for tip in tips])
    return f"{counted(len(tips), 'tip')} of {shape.id} moved inward by {moved} instead of {wanted}"


def _spread(lengths: Sequence[float]) -> str:
    """A length, or the least, the median and the most of several."""
    least, most = min(lengths), max(lengths)
    if f"{least:.3f}" == f"{most:.3f}":
        return f"{most:.3f} mm"
    return f"{least:.3f} to {most:.3f} mm (median {median(lengths):.3f})"


def _change(before: Shape, after: Shape) -> Change:
    removed = float(before.geometry.area - after.geometry.area)
    return Change(layer=before.layer, removed=Amount(area=removed), why=f"tips of {before.id}")
