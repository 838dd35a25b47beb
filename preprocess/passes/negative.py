"""negative: marks the ground, the area around the motif, instead of the motif."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED
from preprocess.engine.ledger_entries import entries_of
from preprocess.engine.selection import selected_by, selection_test
from preprocess.errors import Refusal
from preprocess.findings import Finding, counted, note, warn
from preprocess.geometry.offset.offset import shrink_area
from preprocess.geometry.offset.outlines import area_within
from preprocess.geometry.overlay.booleans import difference, union
from preprocess.model.artwork.source import Selection
from preprocess.model.declared import Doc
from preprocess.passes._shared.unique_ids import unique_ids
from preprocess.units import Length, digits

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
    """Mark the ground, the undrawn area within an outline, instead of the motif.

    For filaments whose mark stands out better around the motif, or for a framed look. The chosen
    engraved areas are the motif and stay unmarked; their holes and white places become ground.
    Other engraved areas and lines stay. The ground keeps off those areas, off keep_off areas and
    off holes in the outline.
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
        """Replace the motif by one area, the ground.

        Raises:
            Refusal: the outline is missing, or vanishes inside the margin.
        """
        wanted = selection_test(artwork, self)
        engraved = [shape for shape in artwork.shapes if shape.is_engraved_area]
        if not any(wanted(shape) for shape in engraved):
            idle = note("no-motif", "no engraved area is chosen, so there is no ground to mark")
            return Outcome(artwork=artwork, findings=(idle,))
        frames = () if self.within is None else selected_by(artwork, self.within, "within")
        outline = self._outline(artwork, frames)
        motif = [shape for shape in engraved if wanted(shape) and shape not in frames]
        others = [shape for shape in engraved if not wanted(shape) and shape not in frames]
        area = self._ground(artwork, outline, [s.geometry for s in (*motif, *others)])
        first, *rest = [shape for shape in engraved if wanted(shape) or shape in frames]
        ground = () if area.is_empty else (_ground(artwork, [first, *rest], area),)
        exchanges = [(first, ground), *((shape, ()) for shape in rest)]
        return Outcome(
            artwork=artwork.exchanged(exchanges),
            findings=tuple(_findings(motif, outline, area)),
            changes=entries_of(exchanges, "the ground instead of the motif"),
        )

    def _outline(self, artwork: Artwork, frames: Sequence[Shape]) -> MultiPolygon:
        if not frames and not artwork.parts:
            raise Refusal(
                "the outline of the ground is missing",
                "choose an element with within: {select: '#frame'}, or name the part's outline",
            )
        areas = [area_within(s.geometry) for s in frames] if frames else artwork.parts
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
                f"a margin of {digits(self.margin)} mm leaves nothing of the outline",
                "give negative a smaller margin",
            )
        return difference(inside, union([*drawn, *artwork.keep_off]))


def _ground(artwork: Artwork, gone: Sequence[Shape], area: MultiPolygon) -> Shape:
    """The ground, marked as the first of the shapes that go, with a name of its own."""
    (name,) = unique_ids([f"{gone[0].layer}-ground"], [shape.id for shape in artwork.shapes])
    sources = tuple(source for shape in gone for source in shape.sources)
    return replace(gone[0], id=name, geometry=area, sources=sources, level=None, bars=None)


def _findings(motif: Sequence[Shape], outline: MultiPolygon, ground: MultiPolygon) -> list[Finding]:
    areas = f"{sum(shape.geometry.area for shape in motif):.2f} mm²"
    if ground.is_empty:
        message = f"nothing is marked: the motif of {areas} leaves no ground within the outline"
        return [warn("no-ground", message, "choose a larger outline or a smaller margin")]
    message = (
        f"{ground.area:.2f} mm² of ground will be marked instead of a motif of {areas}; "
        "rows run across the whole outline now"
    )
    found = [note("ground-marked", message, elements=[shape.id for shape in motif])]
    beyond = [s for s in motif if difference(s.geometry, outline).area > _SPECK]
    if beyond:
        reach = "reaches" if len(beyond) == 1 else "reach"
        message = (
            f"{counted(len(beyond), 'shape')} of the motif {reach} beyond the outline and cannot "
            "be seen there, without ground around"
        )
        remedy = "move the motif inside, or choose a larger outline"
        at, layer = difference(beyond[0].geometry, outline).representative_point(), beyond[0].layer
        ids = [shape.id for shape in beyond]
        told = warn("motif-beyond-outline", message, remedy, elements=ids, layer=layer)
        found.append(replace(told, spot=(at.x, at.y)))
    return found
