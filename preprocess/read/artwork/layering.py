"""Layers: the recipe's rules in order, the first that matches wins; the rest is "artwork"."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely

from preprocess.findings import Finding, note, warn
from preprocess.geometry.base.normalise import as_lines
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source
from preprocess.model.options.reading import DEFAULT_LAYER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.model.options.reading import LayerRule, Wanted
    from preprocess.read.artwork.painted_geometry import PaintedGeometry
    from preprocess.read.scene.painted import PaintedOutline

_LINES = frozenset({Operation.SCORE, Operation.CUT})


def source_of(
    painted: PaintedOutline, geometry: MultiPolygon | MultiLineString | None = None
) -> Source:
    """Where a shape came from."""
    return Source(
        id=painted.name,
        line=painted.line,
        label=painted.label,
        colour=painted.ink.colour if painted.ink else None,
        selectors=painted.selectors,
        geometry=geometry,
    )


def rule_for(painted: PaintedOutline, wanted: Wanted) -> LayerRule | None:
    """The first rule that chooses an element."""
    source = source_of(painted)
    return next((rule for rule in wanted.layers if source.matches(rule.choose)), None)


def shapes_of(
    pieces: Sequence[PaintedGeometry], rules: Sequence[LayerRule | None]
) -> tuple[Shape, ...]:
    """One shape for each piece, with an id of its own."""
    names = _Names()
    return tuple(
        _shape(piece, rule, names.fresh(_name(piece)))
        for piece, rule in zip(pieces, rules, strict=True)
    )


def _name(piece: PaintedGeometry) -> str:
    name = piece.painted.name
    return name if piece.level is None else f"{name}-shade-{piece.level}"


@dataclass(slots=True)
class _Names:
    """Ids that were given out; a second of the same name gets a number."""

    used: dict[str, int]

    def __init__(self) -> None:
        self.used = {}

    def fresh(self, name: str) -> str:
        wish = name
        while wish in self.used:
            self.used[name] += 1
            wish = f"{name}-{self.used[name]}"
        self.used[wish] = 1
        return wish


def _shape(piece: PaintedGeometry, rule: LayerRule | None, name: str) -> Shape:
    is_area = piece.stroke is None
    default = Operation.ENGRAVE if is_area else Operation.SCORE
    operation = rule.operation if rule else default
    geometry = piece.geometry
    if is_area and operation in _LINES:
        geometry = as_lines(shapely.boundary(geometry))
    return Shape(
        id=name,
        layer=rule.name if rule else DEFAULT_LAYER,
        operation=operation,
        geometry=geometry,
        sources=(source_of(piece.painted, piece.geometry),),
        stroke=piece.stroke,
        level=piece.level,
    )


def layers_of(shapes: Sequence[Shape], wanted: Wanted) -> tuple[Layer, ...]:
    """The rules' layers in order, and the layer of the rest when it holds anything."""
    found: dict[str, Layer] = {}
    for rule in wanted.layers:
        default = wanted.settings.get(rule.operation, Settings())
        own = {rule.operation: rule.settings.over(default)}
        if rule.name not in found:
            found[rule.name] = _layer(rule.name, rule.operation, {**wanted.settings, **own})
        elif found[rule.name].operation is not rule.operation:
            earlier = found[rule.name]
            found[rule.name] = _layer(rule.name, earlier.operation, {**earlier.settings, **own})
    if any(shape.layer == DEFAULT_LAYER for shape in shapes) and DEFAULT_LAYER not in found:
        found[DEFAULT_LAYER] = _layer(DEFAULT_LAYER, None, dict(wanted.settings))
    shaded = {shape.layer for shape in shapes if shape.level is not None}
    return tuple(
        replace(layer, shares=wanted.shades.shares) if layer.name in shaded else layer
        for layer in found.values()
    )


def _layer(name: str, operation: Operation | None, settings: dict[Operation, Settings]) -> Layer:
    return Layer(name=name, operation=operation, settings=settings)


def layer_findings(shapes: Sequence[Shape], wanted: Wanted) -> tuple[Finding, ...]:
    """What the rules left over, and which of them chose nothing."""
    if not wanted.layers:
        message = "the recipe has no layers: areas are engraved and lines scored"
        return (note("no-layers", message, "name layers in the recipe to choose otherwise"),)
    found = []
    filled = {shape.layer for shape in shapes}
    for rule in wanted.layers:
        if rule.name not in filled and not rule.choose.optional:
            message = f"layer {rule.name!r} is empty: {rule.choose} matches nothing that is painted"
            found.append(warn("empty-layer", message, _QUOTE))
    left = [shape for shape in shapes if shape.layer == DEFAULT_LAYER]
    if left:
        rest = [shape.id for shape in left]
        shown = ", ".join(_placed(shape) for shape in left[:_SHOWN])
        shown += f" and {len(rest) - _SHOWN} more" if len(rest) > _SHOWN else ""
        message = f"no layer chooses {shown}: areas are engraved and lines scored"
        found.append(note("no-layer-chosen", message, "add a layer for them", elements=rest))
    return tuple(found)


def _placed(shape: Shape) -> str:
    source = shape.sources[0]
    places = [f"line {source.line}"] if source.line is not None else []
    places += [f"in {source.label}"] if source.label else []
    return f"{shape.id} ({', '.join(places)})" if places else shape.id


_SHOWN = 8
_QUOTE = "check the spelling; an unquoted # starts a comment in YAML, so quote it: '#id'"
