"""One layer as cells: its grid, which cells are marked, and its shapes with any greys."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.errors import Refusal
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.rows.rounds import usual_rounds
from preprocess.marking.job.grey_rows import lit_cells_area
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.grey import WHITE, GreyImage
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.machine import FirstRow
from preprocess.passes._shared.expectations import engraving_pitch, expect_no_bars
from preprocess.passes._shared.unique_ids import unique_ids
from preprocess.passes.grey.cell_grid import cell_grid, coverage, half_covered, lost_area
from preprocess.passes.grey.images import images_of
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Booleans, Greys
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.settings import Settings
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Grey
    from preprocess.passes.grey.cell_grid import CellGrid

_NEEDED = {"power": "power: 50 %", "speed": "speed: 900 mm/s"}
"""Settings that the simulation needs beside the pitch, as a recipe writes them."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerCells:
    """The cells of one layer.

    `old` are its areas, `lit` says which cells are marked (rows × columns), `power` is the layer's
    own (a share), `count` the number of images, `lost` the area (mm²) in no marked cell or beside
    one. With `on_page_rows` each image has white rows in between. `shapes` have the lit cells as
    geometry, and black images until they get the real ones.
    """

    name: str
    old: tuple[Shape, ...]
    grid: CellGrid
    lit: Booleans
    power: float
    count: int
    on_page_rows: bool
    lost: float
    shapes: tuple[Shape, ...]

    def with_greys(self, greys: Greys) -> tuple[Shape, ...]:
        """The shapes of the layer with these greys (rows × columns; white where not lit)."""
        images = images_of(greys, self.grid, self.count, on_page_rows=self.on_page_rows)
        return tuple(
            replace(shape, grey=image) for shape, image in zip(self.shapes, images, strict=True)
        )

    def drawn(self, artwork: Artwork, greys: Greys) -> Artwork:
        """The artwork with the images in the place of the areas."""
        new = self.with_greys(greys)
        return artwork.exchanged((old, new if old is self.old[0] else ()) for old in self.old)


def layer_cells(
    artwork: Artwork, old: Sequence[Shape], bench: Bench, curve: Grey, images: int | None
) -> LayerCells:
    """The cells of the areas of one layer.

    Raises:
        Refusal: a setting is missing, the power lies beyond the greys, areas are cut already, or
            all of them are thinner than a cell.
    """
    name = old[0].layer
    for shape in artwork.shapes_of(name):
        _expect_plain(shape)
    settings = artwork.layer(name).of(Operation.ENGRAVE).over(USUAL_SETTINGS)
    pitch = engraving_pitch(artwork, name, "give the layer one")
    power = _expect_power(settings, name, curve)
    machine = bench.machine_or_default
    count = images or usual_rounds(pitch)
    area = union([shape.geometry for shape in old])
    rows = (settings.angle or 0.0, pitch)
    grid = cell_grid(area, rows, curve.resolution or pitch, machine.first_row, artwork.page)
    covered = coverage(area, grid)
    lit = half_covered(covered)
    if not lit.any():
        raise Refusal(
            f"no cell of {name!r} is drawn to one half, so nothing would be marked",
            "put score-hairlines before grey, or choose the other layers with only",
        )
    on_page_rows = machine.first_row is FirstRow.PAGE and count > 1
    black = np.where(lit, 0, WHITE).astype(np.uint8)
    found = images_of(black, grid, count, on_page_rows=on_page_rows)
    return LayerCells(
        name=name,
        old=tuple(old),
        grid=grid,
        lit=lit,
        power=power,
        count=count,
        on_page_rows=on_page_rows,
        lost=lost_area(covered, lit, grid),
        shapes=tuple(_shapes(artwork, old, found)),
    )


def _shapes(artwork: Artwork, old: Sequence[Shape], images: Sequence[GreyImage]) -> Iterator[Shape]:
    """A shape for each image; several have a level each, and so a colour layer of their own."""
    gone = {id(shape) for shape in old}
    taken = [shape.id for shape in artwork.shapes if id(shape) not in gone]
    wanted = [f"{old[0].layer}-image-{n}" for n in range(1, len(images) + 1)]
    several = len(images) > 1
    for number, (image, name) in enumerate(zip(images, unique_ids(wanted, taken), strict=True)):
        yield replace(
            old[0],
            id=name,
            geometry=lit_cells_area(image),
            sources=tuple(source for shape in old for source in shape.sources),
            level=number + 1 if several else None,
            round=number if several else None,
            grey=image,
        )


def _expect_plain(shape: Shape) -> None:
    """Refuse a layer of which something is cut already: its levels would count twice."""
    if shape.level is not None or shape.round is not None or shape.grey is not None:
        raise Refusal(
            f"{shape.id} is cut into levels, rounds or images already",
            "take out tag-power, interleave or shades, or choose the other areas with only",
        )
    expect_no_bars(shape, "take out equalize-width: greys even out what bars are for")


def _expect_power(settings: Settings, name: str, curve: Grey) -> float:
    """The power of a layer, which greys must be able to give."""
    missing = [key for key in _NEEDED if getattr(settings, key) is None]
    if missing:
        raise Refusal(
            f"layer {name!r} lacks {' and '.join(missing)}, which the simulation needs",
            f"add settings: {{engrave: {{{', '.join(_NEEDED[key] for key in missing)}}}}} to the "
            "recipe",
        )
    power = settings.power or 0.0
    if not curve.from_ < power < curve.to:
        raise Refusal(
            f"layer {name!r} has a power of {digits(100 * power)} %, but greys give "
            f"{digits(100 * curve.from_)} to {digits(100 * curve.to)} %",
            "choose a power between these, or a wider range in the software and the machine file",
        )
    return power
