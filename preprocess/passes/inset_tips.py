"""inset-tips: pulls ends that narrow below a width inward."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, SEPARATE
from preprocess.engine.ledger import Amount, Change
from preprocess.engine.selection import chosen
from preprocess.findings import Finding, note, warn
from preprocess.geometry.offset.tip_inset import TipRetreat, inset_tips
from preprocess.model.declared import Doc
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_TOLD_APART = 12
"""Up to this many tips of a shape are told one by one, more in one sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InsetTips(Params):
    """Pull ends that narrow below a width inward, so that the mark stays inside the drawn edge.

    The distance grows from nothing where the area is wide enough to its full amount half way to
    the tip, so no step shows. A tip with half angle a retreats by `by` / sin a, at most by `cap`.
    Stems wider than half the width move less, those wide enough not at all.
    Waists between two wide places stay; nothing vanishes or falls apart.
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
        wanted = chosen(artwork, self)
        shapes: list[Shape] = []
        found: list[Finding] = []
        changes: list[Change] = []
        for shape in artwork.shapes:
            after, retreats = self._inset(shape) if wanted(shape) else (shape, ())
            shapes.append(after)
            if retreats:
                found += _told(shape, retreats)
                changes.append(_change(shape, after))
        return Outcome(
            artwork=replace(artwork, shapes=tuple(shapes)),
            findings=tuple(found),
            changes=tuple(changes),
        )

    def _inset(self, shape: Shape) -> tuple[Shape, tuple[TipRetreat, ...]]:
        if not shape.is_engraved_area or shape.geometry.is_empty:
            return shape, ()
        area, retreats = inset_tips(shape.geometry, self.narrower_than, self.by, self.cap)
        return (replace(shape, geometry=area), retreats) if retreats else (shape, ())


def _told(shape: Shape, retreats: Sequence[TipRetreat]) -> Iterator[Finding]:
    tips = [r for r in retreats if r.by > 0 and not r.whole]
    for some in [[tip] for tip in tips] if len(tips) <= _TOLD_APART else [tips]:
        yield _about("tip-inset", "tip", shape, some)
    thin = [r for r in retreats if r.by > 0 and r.whole]
    if thin:
        yield _about("narrow-part-inset", "narrow part", shape, thin)
    capped = [r for r in retreats if r.by > 0 and r.capped]
    if capped:
        message = (
            f"{_count(capped, 'end')} of {shape.id} moved inward by less than asked, so that none "
            "retreats beyond the cap, vanishes or falls apart"
        )
        remedy = "raise the cap, or make these ends blunter in the drawing"
        yield note("tip-capped", message, remedy, elements=[shape.id])
    left = [r for r in retreats if r.by == 0]
    if left:
        message = f"{_count(left, 'narrow place')} of {shape.id} would vanish and stayed as drawn"
        remedy = "thicken them in the drawing, or score them as lines"
        finding = warn("tip-left", message, remedy, elements=[shape.id])
        yield replace(finding, layer=shape.layer, spot=left[0].at)


def _about(code: str, noun: str, shape: Shape, retreats: Sequence[TipRetreat]) -> Finding:
    worst = max(retreats, key=lambda r: r.retreat)
    removed = sum(r.removed for r in retreats)
    upto = "up to " if len(retreats) > 1 else ""
    message = (
        f"{_count(retreats, noun)} of {shape.id} moved inward by {upto}{worst.by:.3f} mm, "
        f"retreating {upto}{worst.retreat:.3f} mm, and lost {removed:.4f} mm²"
    )
    finding = note(code, message, elements=[shape.id])
    return replace(finding, layer=shape.layer, spot=worst.at)


def _count(things: Sequence[TipRetreat], noun: str) -> str:
    return f"{len(things)} {noun}{'' if len(things) == 1 else 's'}"


def _change(before: Shape, after: Shape) -> Change:
    removed = float(before.geometry.area - after.geometry.area)
    return Change(layer=before.layer, removed=Amount(area=removed), why=f"tips of {before.id}")
