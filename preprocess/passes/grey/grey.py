"""grey: areas as images whose greys set the power of each cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Le

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, IN_GREYS
from preprocess.engine.ledger_entries import exchange_entries
from preprocess.engine.selection import selected_areas
from preprocess.errors import Refusal
from preprocess.findings import note
from preprocess.model.declared import Doc
from preprocess.passes.grey.findings import image_findings, solution_findings
from preprocess.passes.grey.layer_cells import layer_cells
from preprocess.passes.grey.solve import even_greys, solved_greys

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Greys
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Grey


@dataclass(frozen=True, slots=True, kw_only=True)
class GreyImages(Params):
    """Write areas as images whose greys set the power of every cell, solved for even heat.

    It is for machines whose software turns the greys of an image into power: the machine file
    says so under grey. Each cell is as high as the rows are apart. A cell is marked where at least
    half of it is drawn. The rows are shared out over several images, each a layer of its own:
    every k-th row in each, as interleave does it. Power is solved cell by cell at three spreads of
    heat, and kept where the hottest and coldest places become more even. Make it the last step;
    thin lines go to score-hairlines before it.
    """

    name: ClassVar = "grey"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}),
        gives=frozenset({IN_GREYS}),
        keeps=frozenset({FILLED}),
        seals=frozenset({IN_GREYS}),
    )

    images: Annotated[
        int | None,
        Ge(1),
        Le(16),
        Doc("how many images; without it as many as bring their rows nearest to 0.4 mm apart"),
    ] = None
    solve: Annotated[
        bool, Doc("solve the power of each cell; without it all get that of their layer")
    ] = True

    def simulations(self) -> int:
        """One to each step towards even heat."""
        return 6 if self.solve else 0

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Put images in the place of the chosen areas of each layer.

        Raises:
            Refusal: the machine's greys are unknown; a setting is missing; the layer's power lies
                beyond what greys give; areas have levels, rounds or bars already.
        """
        by_layer: dict[str, list[Shape]] = {}
        for shape in selected_areas(artwork, self):
            by_layer.setdefault(shape.layer, []).append(shape)
        if not by_layer:
            message = "the selection has no engraved area, so there is no image to write"
            return Outcome(artwork=artwork, findings=(note("no-rows", message),))
        done = [
            name for name, shapes in by_layer.items() if all(s.grey is not None for s in shapes)
        ]
        told = [note("greys-already", f"{name} is images of greys already") for name in done]
        by_layer = {name: some for name, some in by_layer.items() if name not in done}
        if not by_layer:
            return Outcome(artwork=artwork, findings=tuple(told))
        curve = _curve(bench)
        layers = [
            layer_cells(artwork, shapes, bench, curve, self.images) for shapes in by_layer.values()
        ]

        def drawn(greys: Sequence[Greys]) -> Artwork:
            after = artwork
            for layer, some in zip(layers, greys, strict=True):
                after = layer.drawn(after, some)
            return after

        if self.solve:
            best, equal = solved_greys(layers, bench, drawn)
            greys, after = best.greys, best.artwork
            told += solution_findings(layers, best, equal)
        else:
            greys = tuple(even_greys(layers, bench))
            after = drawn(greys)
        new = [layer.with_greys(some) for layer, some in zip(layers, greys, strict=True)]
        return Outcome(
            artwork=after,
            findings=(*image_findings(layers, new, curve), *told),
            changes=tuple(
                change
                for layer, shapes in zip(layers, new, strict=True)
                for change in exchange_entries(layer.old, shapes, "areas as images of cells")
            ),
        )


def _curve(bench: Bench) -> Grey:
    curve = bench.machine_or_default.grey
    if curve is None:
        raise Refusal(
            "the machine file has no grey, so the power that a grey gives is not known",
            "mark the coupon grey-steps, and evenmark fit writes it into the machine file; or take "
            "this step out where the software cannot turn greys into power",
        )
    return curve
