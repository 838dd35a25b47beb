"""Building a coupon from its definition: artwork with its cells."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from shapely import MultiPolygon, box

from preprocess.coupon.artwork.blades import place_of_id
from preprocess.coupon.artwork.crosses import placed_crosses
from preprocess.coupon.artwork.grey_steps import GREYS, step_greys, step_image
from preprocess.coupon.artwork.layout import cells_bounds
from preprocess.coupon.artwork.own_rows import own_row_lines, strip_areas
from preprocess.coupon.artwork.plate_fit import fitted_cells
from preprocess.coupon.artwork.shapes import translated
from preprocess.coupon.artwork.stair.step_marks import place_of_stair_id
from preprocess.coupon.artwork.stroke_font import lettering_width, stroke_lettering
from preprocess.coupon.design.defaults import SCORED_KINDS
from preprocess.coupon.design.definition import coupon_id
from preprocess.coupon.design.dimensions import LABEL_HEIGHT, LAYER_LETTERS, MARGIN
from preprocess.coupon.design.model import Cell, Coupon, CouponKind
from preprocess.coupon.design.validate import validate_definition
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.part import Part
from preprocess.passes.interleave.interleave import Form

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.coupon.artwork.cells import CellGeometry
    from preprocess.coupon.artwork.layout import PlacedCell
    from preprocess.coupon.design.model import CouponDefinition, OwnRows

CROSS_PREFIX = "cross-"
"""How ids of crosses begin."""

LABELS = "labels"
"""Output layer of all lettering."""


def build(definition: CouponDefinition) -> Coupon:
    """The coupon of a definition; the same one each time.

    Raises:
        Refusal: the definition makes no sense, or does not fit on its plate or in the field.
    """
    validate_definition(definition)
    name = coupon_id(definition)
    placed = fitted_cells(definition)
    flat = [p for p in placed if p.setting < len(definition.settings)]
    greys = [p for p in placed if p.setting >= len(definition.settings)]
    drawn = {p.name: _cell_shapes(p, definition) for p in flat}
    shapes = [shape for some in drawn.values() for shape in some]
    shapes += [_grey_shape(p, definition) for p in greys]
    labels = {f"label-{p.name}": p.label for p in placed}
    labels["label-id"] = _id_label(name, definition, placed)
    if definition.crosses:
        marks = [*(g for p in placed for g in p.shapes), *labels.values()]
        crosses = placed_crosses(definition.plate, marks)
        labels |= {f"{CROSS_PREFIX}{n}": cross for n, cross in enumerate(crosses, 1)}
    shapes += [_shape(key, (LABELS, Operation.SCORE), label) for key, label in labels.items()]
    return Coupon(
        id=name,
        kind=str(definition.kind),
        artwork=_artwork(definition, tuple(shapes)),
        bench=Bench(
            machine=definition.machine,
            filament=definition.filament,
            parts=(Part(outline=definition.plate, thickness=definition.thickness),),
        ),
        cells=tuple(_grey_cell(p, definition) for p in greys)
        or tuple(_cell(p, definition, drawn[p.name]) for p in sorted(placed, key=_cell_order)),
        beside=tuple(_cell(p, definition, drawn[p.name]) for p in flat if greys),
    )


def _grey_shape(placed: PlacedCell, definition: CouponDefinition) -> Shape:
    """A square of greys: an image by itself."""
    (square,), (name,) = placed.shapes, _shape_ids(placed)
    image = step_image(placed.name, square, definition.settings[0].pitch or 0.0)
    return replace(_shape(name, (GREYS, Operation.ENGRAVE), square), grey=image)


def _grey_cell(placed: PlacedCell, definition: CouponDefinition) -> Cell:
    """The cell of a square of greys; its power is what is to be found out."""
    settings = definition.settings[0]
    return Cell(
        name=placed.name,
        layer=GREYS,
        power=0.0,
        speed=settings.speed or 0.0,
        pitch=settings.pitch or 0.0,
        two_way=settings.direction is Direction.TWO_WAY,
        extra={"grey": str(step_greys()[int(placed.name) - 1]), **dict(settings.extra)},
        size=dict(placed.size),
        shapes=_shape_ids(placed),
    )


def _cell_order(placed: PlacedCell) -> tuple[int, int]:
    return placed.setting, int(placed.name[1:])


def _artwork(definition: CouponDefinition, shapes: tuple[Shape, ...]) -> Artwork:
    width, height = definition.plate
    beyond = max(_beyond(shape, width) for shape in shapes)
    score = Operation.SCORE
    layers = [
        Layer(name=letter, operation=operation, settings={operation: settings})
        for number, letter in enumerate(LAYER_LETTERS[: len(definition.settings)])
        for operation, settings in (_marking(definition, number),)
    ]
    if any(shape.grey is not None for shape in shapes):
        engraved = Operation.ENGRAVE
        swept = replace(definition.settings[0], power=None)
        layers.append(Layer(name=GREYS, operation=engraved, settings={engraved: swept}))
    layers.append(Layer(name=LABELS, operation=score, settings={score: definition.labels}))
    return Artwork(
        page=Page(
            width=width + 2 * beyond, height=height, left=-beyond, size_from="the plate, and bars"
        ),
        shapes=shapes,
        layers=tuple(layers),
        parts=(MultiPolygon([box(0.0, 0.0, width, height)]),),
    )


def _beyond(shape: Shape, width: float) -> float:
    """Width of page that a shape's bars need beyond the plate, with a margin, mm."""
    if shape.bars is None:
        return 0.0
    left, _, right, _ = shape.bars.bounds
    return round(max(-left, right - width) + 1.0, 6)


def _marking(definition: CouponDefinition, setting: int) -> tuple[Operation, Settings]:
    """How a layer is marked: operation and settings."""
    settings, rows = definition.settings[setting], _own_rows(definition, setting)
    if rows is not None and rows.form is Form.STRIPS:
        swept = Settings(pitch=rows.pitch, direction=rows.direction, angle=0.0)
        return Operation.ENGRAVE, swept.over(settings)
    scored = definition.kind in SCORED_KINDS or rows is not None
    return Operation.SCORE if scored else Operation.ENGRAVE, settings


def _own_rows(definition: CouponDefinition, setting: int) -> OwnRows | None:
    """The rounds of a layer; None where it is swept or plainly scored."""
    return definition.own_rows if definition.settings[setting].pitch is None else None


def _cell_shapes(placed: PlacedCell, definition: CouponDefinition) -> list[Shape]:
    """The shapes of a cell as they are written: areas, lines, or a round of strips each."""
    rows = _own_rows(definition, placed.setting)
    layer = LAYER_LETTERS[placed.setting], _marking(definition, placed.setting)[0]
    if rows is None or rows.form is Form.OWN_ROWS:
        return [
            _shape(name, layer, _drawn(geometry, rows), placed.bars)
            for name, geometry in zip(_shape_ids(placed), placed.shapes, strict=True)
        ]
    (geometry,), (name,) = placed.shapes, _shape_ids(placed)
    rule = Bench(machine=definition.machine).machine_or_default.first_row
    wide, high = definition.plate
    bare = Artwork(page=Page(width=wide, height=high), shapes=(), layers=())
    areas = strip_areas(MultiPolygon(geometry), rows, rule, bare)
    return [
        replace(_shape(f"{name}-{n + 1}", layer, area), round=n) for n, area in enumerate(areas)
    ]


def _drawn(geometry: CellGeometry, rows: OwnRows | None) -> CellGeometry:
    """A shape as it is written: an area, or the lines of its own rows."""
    return geometry if rows is None else own_row_lines(MultiPolygon(geometry), rows)


def _shape_ids(placed: PlacedCell) -> tuple[str, ...]:
    if len(placed.shapes) == 1:
        return (f"cell-{placed.name}",)
    return tuple(f"cell-{placed.name}-{n}" for n in range(1, len(placed.shapes) + 1))


def _shape(
    name: str,
    layer: tuple[str, Operation],
    geometry: CellGeometry,
    bars: MultiPolygon | None = None,
) -> Shape:
    source = Source(id=name, geometry=geometry)
    return Shape(
        id=name,
        layer=layer[0],
        operation=layer[1],
        geometry=geometry,
        sources=(source,),
        bars=bars,
    )


def _id_label(
    name: str, definition: CouponDefinition, placed: Sequence[PlacedCell]
) -> CellGeometry:
    """The digits of the id, below the last band or within the gauge."""
    digits = name.rpartition("-")[2].upper()
    left, top, right, bottom = cells_bounds(placed)
    x, y = left, bottom + MARGIN
    if definition.kind is CouponKind.BLADES:
        x, y = place_of_id(definition, digits)
    if definition.kind is CouponKind.FOCUS_STEPS:
        x, y = place_of_stair_id(definition)
    if definition.kind is CouponKind.FIELD_SCALE:
        x = (left + right - lettering_width(digits, LABEL_HEIGHT)) / 2
        y = top + (bottom - top) / 5
    return translated(stroke_lettering(digits, LABEL_HEIGHT), x, y)


def _said(definition: CouponDefinition, setting: int) -> dict[str, str]:
    """Differences between the cells of a kind besides settings and lengths, for the table."""
    if definition.kind is CouponKind.REPEATS:
        return {"repeats": str(definition.settings[setting].repeats or 1)}
    if definition.own_rows is None:
        return {}
    rows = _own_rows(definition, setting)
    if rows is None:
        return {"rows": "swept"}
    strips = " of strips" if rows.form is Form.STRIPS else ""
    return {"rows": f"in {rows.rounds} rounds{strips}"}


def _cell(placed: PlacedCell, definition: CouponDefinition, drawn: Sequence[Shape]) -> Cell:
    settings = definition.settings[placed.setting]
    rows = _own_rows(definition, placed.setting)
    return Cell(
        name=placed.name,
        layer=LAYER_LETTERS[placed.setting],
        power=settings.power or 0.0,
        speed=settings.speed or 0.0,
        pitch=(rows.pitch if rows else settings.pitch) or 0.0,
        two_way=(rows or settings).direction is Direction.TWO_WAY,
        extra={**_said(definition, placed.setting), **dict(settings.extra)},
        size=dict(placed.size),
        shapes=tuple(shape.id for shape in drawn),
    )
