"""negative: marks the ground instead of the motif."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED
from preprocess.engine.ledger_entries import exchanged
from preprocess.engine.selection import chosen, named
from preprocess.errors import Refusal
from preprocess.findings import Finding, note, warn
from preprocess.geometry.offset.offset import shrink_area
from preprocess.geometry.offset.outlines import enclosed_area
from preprocess.geometry.overlay.booleans import difference, union
from preprocess.model.artwork.source import Selection
from preprocess.model.declared import Doc
from preprocess.passes._shared.fresh_ids import fresh
from preprocess.units import Length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_SPECK = 1e-3
"""Areas below this, in mm², are not worth a finding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Negative(Params):
    """Mark the ground instead of the motif: what lies within an outline and is not drawn.

    For filaments whose mark stands out better around the motif than in it, or for a framed look.
    All engraved areas that are chosen are the motif and stay unmarked; their holes, and what white
    paint took out of them, become ground. Engraved areas that are not chosen stay, and the ground
    keeps off them, off keep_off areas and off holes in the outline. Lines stay as they are.
    """

    name: ClassVar = "negative"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}), gives=frozenset({MERGED}), keeps=frozenset({FILLED, MERGED})
    )

    within: Annotated[
        Selection | None,
        Doc("the element whose outline bounds the ground; without it that of the part"),
    ] = None
    margin: Annotated[Length, Ge(0), Doc("how far inside the outline the ground ends")] = 0.0

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Put one area, the ground, in the place of the motif.

        Raises:
            Refusal: there is no outline, or none is left inside the margin.
        """
        wanted = chosen(artwork, self)
        engraved = [shape for shape in artwork.shapes if shape.is_engraved_area]
        if not any(wanted(shape) for shape in engraved):
            idle = note("no-motif", "no engraved area is chosen, so there is no ground to mark")
            return Outcome(artwork=artwork, findings=(idle,))
        frames = () if self.within is None else named(artwork, self.within, "within")
        framing = {id(shape) for shape in frames}
        outline = self._outline(artwork, frames)
        motif = [s for s in engraved if wanted(s) and id(s) not in framing]
        others = [s for s in engraved if not wanted(s) and id(s) not in framing]
        area = self._ground(artwork, outline, [s.geometry for s in (*motif, *others)])
        gone = [s for s in engraved if wanted(s) or id(s) in framing]
        grounds = [_shape(artwork, gone, area)] if not area.is_empty else []
        return Outcome(
            artwork=replace(artwork, shapes=_replaced(artwork.shapes, gone, grounds)),
            findings=tuple(_findings(motif, outline, area)),
            changes=exchanged(gone, grounds, "the ground instead of the motif"),
        )

    def _outline(self, artwork: Artwork, frames: Sequence[Shape]) -> MultiPolygon:
        if not frames and not artwork.parts:
            raise Refusal(
                "nobody says within which outline the ground lies",
                "choose an element with within: {select: '#frame'}, or name the part's outline",
            )
        areas = [enclosed_area(s.geometry) for s in frames] if frames else artwork.parts
        outline = union(areas)
        if outline.is_empty:
            raise Refusal(f"{self.within} encloses nothing", "choose a closed outline")
        return outline

    def _ground(
        self, artwork: Artwork, outline: MultiPolygon, drawn: Sequence[MultiPolygon]
    ) -> MultiPolygon:
        inside = shrink_area(outline, self.margin)
        if inside.is_empty:
            raise Refusal(
                f"a margin of {self.margin:g} mm leaves nothing of the outline",
                "give negative a smaller margin",
            )
        return difference(inside, union([*drawn, *artwork.keep_off]))


def _shape(artwork: Artwork, gone: Sequence[Shape], area: MultiPolygon) -> Shape:
    """The ground, marked as the first of the shapes that go, with a name of its own."""
    (name,) = fresh([f"{gone[0].layer}-ground"], [shape.id for shape in artwork.shapes])
    sources = tuple(source for shape in gone for source in shape.sources)
    return replace(gone[0], id=name, geometry=area, sources=sources, level=None, bars=None)


def _replaced(
    shapes: Sequence[Shape], gone: Sequence[Shape], grounds: Sequence[Shape]
) -> tuple[Shape, ...]:
    """The ground stands where the first of the shapes stood."""
    instead: dict[int, Sequence[Shape]] = {id(shape): () for shape in gone}
    instead[id(gone[0])] = grounds
    return tuple(new for shape in shapes for new in instead.get(id(shape), (shape,)))


def _findings(motif: Sequence[Shape], outline: MultiPolygon, ground: MultiPolygon) -> list[Finding]:
    areas = f"{sum(shape.geometry.area for shape in motif):.2f} mm²"
    if ground.is_empty:
        message = f"the motif of {areas} leaves no ground within the outline, so nothing is marked"
        return [warn("no-ground", message, "choose a larger outline or a smaller margin")]
    message = (
        f"{ground.area:.2f} mm² of ground will be marked instead of a motif of {areas}; "
        "rows run across the whole outline now"
    )
    found = [note("ground-marked", message, elements=[shape.id for shape in motif])]
    beyond = [s for s in motif if difference(s.geometry, outline).area > _SPECK]
    if beyond:
        message = (
            f"{len(beyond)} shape{'' if len(beyond) == 1 else 's'} of the motif "
            f"{'reaches' if len(beyond) == 1 else 'reach'} beyond the outline, where no ground is "
            "marked, so that this much cannot be seen"
        )
        remedy = "move the motif inside, or choose a larger outline"
        at = difference(beyond[0].geometry, outline).representative_point()
        finding = warn("motif-beyond-outline", message, remedy, elements=[s.id for s in beyond])
        found.append(replace(finding, layer=beyond[0].layer, spot=(at.x, at.y)))
    return found
