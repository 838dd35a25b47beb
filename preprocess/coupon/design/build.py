"""Coupons: from what is known of the bench to a definition, and from a definition to artwork."""

from __future__ import annotations

from dataclasses import replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from shapely import MultiPolygon, box

from preprocess.coupon.artwork.layout import LETTER, MARGIN, Placed, bounds
from preprocess.coupon.artwork.letters import lettering, width_of
from preprocess.coupon.artwork.pieces import LETTERS
from preprocess.coupon.artwork.room import fitting, room_of
from preprocess.coupon.artwork.shapes import moved
from preprocess.coupon.design.defaults import LENGTHS, SCORED, Asked, labels_of, layers_of
from preprocess.coupon.design.definition import canonical, id_of
from preprocess.coupon.design.model import Cell, Coupon, CouponDefinition, Kind
from preprocess.coupon.design.validate import refuse_unsound
from preprocess.errors import Refusal
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.part import Part

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.coupon.artwork.pieces import Drawn

LABELS = "labels"
"""Output layer of all lettering."""


def coupon_of(
    kind: str,
    bench: Bench,
    *,
    plate: tuple[float, float],
    settings: Mapping[Operation, Settings] | None = None,
    asked: Asked | None = None,
) -> Coupon:
    """Make a coupon.

    Args:
        kind: what it measures.
        bench: machine and filament as far as known; of the part only its thickness.
        plate: width and height of the plate that is marked, mm.
        settings: of the recipe; what it leaves open comes from the filament's reference patch.
        asked: what somebody wants to be otherwise than usual.

    Raises:
        Refusal: an unknown kind, too many layers, no speed or pitch, or it does not fit; the
            remedy says what would.
    """
    return build(define(kind, bench, plate=plate, settings=settings, asked=asked))


def define(
    kind: str,
    bench: Bench,
    *,
    plate: tuple[float, float],
    settings: Mapping[Operation, Settings] | None = None,
    asked: Asked | None = None,
) -> CouponDefinition:
    """The definition of a coupon, as `coupon_of` takes it; see there."""
    which, wanted, asked = _kind(kind), settings or {}, asked or Asked()
    layers = asked.layers or layers_of(which, bench, wanted, asked)
    definition = CouponDefinition(
        kind=which,
        plate=plate,
        thickness=bench.parts[0].thickness if bench.parts else None,
        room=asked.room,
        settings=layers,
        labels=labels_of(bench, wanted, layers),
        lengths=asked.lengths or LENGTHS[which] or (1.0,),
        machine=bench.machine,
        filament=_printed(bench),
    )
    if which is Kind.FIELD_SCALE and not asked.lengths:
        definition = replace(definition, lengths=_as_large_as_may_be(definition))
    refuse_unsound(definition)
    return canonical(definition)


def _printed(bench: Bench) -> Filament | None:
    """The filament, by the name of what the part is printed of."""
    name = bench.parts[0].filament if bench.parts else None
    if name is None:
        return bench.filament
    return replace(bench.filament, name=name) if bench.filament else Filament(name=name)


def build(definition: CouponDefinition) -> Coupon:
    """The coupon that a definition stands for; the same one each time.

    Raises:
        Refusal: it makes no sense, or does not fit on its plate or in its part of the field.
    """
    refuse_unsound(definition)
    name = id_of(definition)
    placed = fitting(definition)
    shapes = [shape for p in placed for shape in _shapes(p, definition.kind)]
    lettered = [_scored(f"label-{p.name}", p.label) for p in placed]
    lettered.append(_scored("label-id", _id_label(name, definition.kind, placed)))
    return Coupon(
        id=name,
        kind=str(definition.kind),
        artwork=_artwork(definition, (*shapes, *lettered)),
        bench=_bench(definition),
        cells=tuple(_cell(p, definition) for p in sorted(placed, key=_in_order)),
    )


def _in_order(placed: Placed) -> tuple[int, int]:
    return placed.setting, int(placed.name[1:])


def _kind(kind: str) -> Kind:
    if kind not in set(Kind):
        near = get_close_matches(kind, list(Kind), n=1)
        remedy = f"did you mean {near[0]}?" if near else f"take one of {', '.join(Kind)}"
        raise Refusal(f"there is no coupon of kind {kind!r}", remedy)
    return Kind(kind)


def _as_large_as_may_be(definition: CouponDefinition) -> tuple[float, float]:
    """Whole mm across and down that fit on the plate and in the field."""
    room = room_of(definition)
    sizes = (
        min(side - 2 * MARGIN, within) for side, within in zip(definition.plate, room, strict=True)
    )
    across, down = (max(1.0, float(int(size))) for size in sizes)
    return across, down


def _bench(definition: CouponDefinition) -> Bench:
    part = Part(outline=definition.plate, thickness=definition.thickness)
    return Bench(machine=definition.machine, filament=definition.filament, parts=(part,))


def _artwork(definition: CouponDefinition, shapes: tuple[Shape, ...]) -> Artwork:
    width, height = definition.plate
    beyond = max(_beyond(shape, width) for shape in shapes)
    operation = _operation(definition.kind)
    layers = [
        Layer(name=LETTERS[n], operation=operation, settings={operation: settings})
        for n, settings in enumerate(definition.settings)
    ]
    score = Operation.SCORE
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
    """How far a shape's bars need more page than the plate, mm, with some margin."""
    if shape.bars is None:
        return 0.0
    left, _, right, _ = shape.bars.bounds
    return round(max(-left, right - width) + 1.0, 6)


def _operation(kind: Kind) -> Operation:
    return Operation.SCORE if kind in SCORED else Operation.ENGRAVE


def _shapes(placed: Placed, kind: Kind) -> list[Shape]:
    names = _shape_ids(placed)
    return [
        Shape(
            id=name,
            layer=LETTERS[placed.setting],
            operation=_operation(kind),
            geometry=geometry,
            sources=(Source(id=name, geometry=geometry),),
            bars=placed.bars,
        )
        for name, geometry in zip(names, placed.shapes, strict=True)
    ]


def _shape_ids(placed: Placed) -> tuple[str, ...]:
    if len(placed.shapes) == 1:
        return (f"cell-{placed.name}",)
    return tuple(f"cell-{placed.name}-{n}" for n in range(1, len(placed.shapes) + 1))


def _scored(name: str, lines: Drawn) -> Shape:
    return Shape(
        id=name,
        layer=LABELS,
        operation=Operation.SCORE,
        geometry=lines,
        sources=(Source(id=name, geometry=lines),),
    )


def _id_label(name: str, kind: Kind, placed: Sequence[Placed]) -> Drawn:
    """The digits of the id, below the last band or within the gauge."""
    digits = name.rpartition("-")[2].upper()
    left, top, right, bottom = bounds(placed)
    x, y = left, bottom + MARGIN
    if kind is Kind.FIELD_SCALE:
        x = (left + right - width_of(digits, LETTER)) / 2
        y = top + (bottom - top) / 5
    return moved(lettering(digits, LETTER), x, y)


def _cell(placed: Placed, definition: CouponDefinition) -> Cell:
    settings = definition.settings[placed.setting]
    return Cell(
        name=placed.name,
        layer=LETTERS[placed.setting],
        power=settings.power or 0.0,
        speed=settings.speed or 0.0,
        pitch=settings.pitch or 0.0,
        two_way=settings.direction is Direction.TWO_WAY,
        size=dict(placed.size),
        shapes=_shape_ids(placed),
    )
