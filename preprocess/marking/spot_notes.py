"""What a person should know of edges that moved for the width of the beam."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.findings import Finding, note, warn
from preprocess.geometry.edge_shift import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.geometry.edge_shift import Kept
    from preprocess.model.shape import Shape

    Moved = tuple[Shape, Shape, tuple[Kept, ...]]

TOLD_APART = 12
"""Up to this many places of one kind in a shape are told one by one, more in one sentence."""


def spot_notes(moved: Sequence[Moved], by: float, *, bleed_unknown: bool) -> Iterator[Finding]:
    """All findings about shapes before and after, with the places that stayed as drawn.

    Args:
        moved: shape, the same with its edges moved, and what of it stayed.
        by: how far inward, mm; negative means outward.
        bleed_unknown: whether the distance lacks the bleed of the filament.
    """
    if not moved or not by:
        yield note("nothing-compensated", "no edge was moved for the width of the beam")
        return
    yield _summary(moved, by)
    if bleed_unknown:
        message = "nobody knows how far this filament bleeds, so only half the spot is made up for"
        yield note("bleed-unknown", message, "give the filament its bleed, or the pass its by")
    for shape, _, kept in moved:
        for kind in dict.fromkeys(one.kind for one in kept):
            same = [one for one in kept if one.kind is kind]
            for some in [[one] for one in same] if len(same) <= TOLD_APART else [same]:
                yield _stayed(shape, kind, some, abs(by))


def _summary(moved: Sequence[Moved], by: float) -> Finding:
    before = sum(old.geometry.area for old, _, _ in moved)
    after = sum(new.geometry.area for _, new, _ in moved)
    message = (
        f"edges of {_count(len(moved), 'shape')} moved {'inward' if by > 0 else 'outward'} by "
        f"{abs(by):g} mm: {before:.2f} mm² became {after:.2f} mm²"
    )
    return note("spot-compensated", message, elements=[old.id for old, _, _ in moved])


def _stayed(shape: Shape, kind: Kind, places: Sequence[Kept], by: float) -> Finding:
    several = len(places) > 1
    what = f"{_count(len(places), kind)} of {shape.id}"
    are, stay = ("are", "stay") if several else ("is", "stays")
    if kind in {Kind.PART, Kind.BRIDGE, Kind.END}:
        message = (
            f"{what} {are} too thin to be drawn in by {by:g} mm on either side and {stay} as "
            "drawn, so the mark gets wider there"
        )
        remedy = "thicken it in the drawing, or score it as a line"
        finding = warn("too-thin-for-spot", message, remedy, elements=[shape.id])
    else:
        message = (
            f"{what} {are} too narrow to grow into by {by:g} mm on either side and {stay} as "
            "drawn, so that nothing closes"
        )
        remedy = "widen it in the drawing, or let the edges grow less"
        finding = warn("too-close-for-spot", message, remedy, elements=[shape.id])
    return replace(finding, layer=shape.layer, spot=places[0].at)


def _count(number: int, noun: str) -> str:
    plural = "es" if noun.endswith("ch") else "s"
    return f"{number} {noun}{'' if number == 1 else plural}"
