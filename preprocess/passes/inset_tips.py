"""inset-tips: pulls ends that narrow below a width inward."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, SEPARATE
from preprocess.engine.ledger import Amount, Change
from preprocess.engine.selection import selected_areas
from preprocess.findings import Finding, counted, note, one_by_one, warn
from preprocess.geometry.offset.tip_inset import TipRetreat, inset_tips
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
    Stems wider than half the width move less, and from the full width on not at all. Waists
    between two wide places stay; nothing vanishes or falls apart.
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
    moved = [r for r in retreats if r.by > 0]
    for tips in one_by_one([r for r in moved if not r.whole]):
        yield _about("tip-inset", "tip", shape, tips)
    thin = [r for r in moved if r.whole]
    if thin:
        yield _about("narrow-part-inset", "narrow part", shape, thin)
    capped = [r for r in moved if r.capped]
    if capped:
        message = (
            f"{counted(len(capped), 'end')} of {shape.id} moved inward by less than asked: limited "
            "by the cap, or kept from vanishing or falling apart"
        )
        remedy = "raise the cap, or make these ends blunter in the drawing"
        yield note("tip-capped", message, remedy, elements=[shape.id])
    left = [r for r in retreats if r.by == 0]
    if left:
        places = counted(len(left), "narrow place")
        message = f"{places} of {shape.id} would vanish, so stayed as drawn"
        remedy = "thicken them in the drawing, or score them as lines"
        at = left[0].at
        yield warn("tip-left", message, remedy, elements=[shape.id], layer=shape.layer, spot=at)


def _about(code: str, noun: str, shape: Shape, retreats: Sequence[TipRetreat]) -> Finding:
    worst = max(retreats, key=lambda r: r.retreat)
    removed = sum(r.removed for r in retreats)
    upto = "up to " if len(retreats) > 1 else ""
    message = (
        f"{counted(len(retreats), noun)} of {shape.id} moved inward by {upto}{worst.by:.3f} mm, "
        f"retreating {upto}{worst.retreat:.3f} mm, and lost {removed:.4f} mm²"
    )
    return note(code, message, elements=[shape.id], layer=shape.layer, spot=worst.at)


def _change(before: Shape, after: Shape) -> Change:
    removed = float(before.geometry.area - after.geometry.area)
    return Change(layer=before.layer, removed=Amount(area=removed), why=f"tips of {before.id}")
