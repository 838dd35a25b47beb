"""Layers: by the first rule of the recipe that matches; the rest is "artwork"."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.findings import Finding, listed, note, warn
from preprocess.geometry.base.normalise import as_lines
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source
from preprocess.model.options.reading import DEFAULT_LAYER
from preprocess.read.messages.remarks import placed_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.model.options.reading import LayerRule, ReadingOptions
    from preprocess.read.artwork.painted_geometry import PaintedGeometry
    from preprocess.read.scene.painted import PaintedOutline

QUOTE_SELECTOR = "check the spelling; an unquoted # starts a comment in YAML, so quote it: '#id'"
_LINES = frozenset({Operation.SCORE, Operation.CUT})


def shape_source(
    painted: PaintedOutline, geometry: MultiPolygon | MultiLineString | None = None
) -> Source:
    """Source of a shape: element, line, label, colour, selectors."""
    return Source(
        id=painted.name,
        line=painted.line,
        label=painted.label,
        around=painted.enclosing.names[:-1],
        layer=painted.enclosing.layer,
        colour=painted.ink.colour if painted.ink else None,
        selectors=painted.selectors,
        geometry=geometry,
    )


def matching_rule(painted: PaintedOutline, options: ReadingOptions) -> LayerRule | None:
    """The first rule that chooses an element; a label of a nearer group goes first."""
    if not options.layers:
        return None
    source = shape_source(painted)
    for label in (source.label, *reversed(source.around)):
        near = replace(source, label=label, around=())
        for rule in options.layers:
            if near.matches(rule.choose):
                return rule
    return None


def artwork_shapes(
    pieces: Sequence[PaintedGeometry], rules: Sequence[LayerRule | None]
) -> tuple[Shape, ...]:
    """One shape for each piece; a second of the same name gets a number."""
    used: dict[str, int] = {}
    found = []
    for piece, rule in zip(pieces, rules, strict=True):
        name = piece.painted.name + ("" if piece.level is None else f"-shade-{piece.level}")
        wish = name
        while wish in used:
            used[name] += 1
            wish = f"{name}-{used[name]}"
        used[wish] = 1
        found.append(_shape(piece, rule, wish))
    return tuple(found)


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
        sources=(shape_source(piece.painted, piece.geometry),),
        stroke=piece.stroke,
        level=piece.level,
    )


def artwork_layers(shapes: Sequence[Shape], options: ReadingOptions) -> tuple[Layer, ...]:
    """The rules' layers in order, and the layer of the rest when it holds anything."""
    found: dict[str, Layer] = {}
    for rule in options.layers:
        default = options.settings.get(rule.operation, Settings())
        own = {rule.operation: rule.settings.over(default)}
        if rule.name not in found:
            settings = {**options.settings, **own}
            found[rule.name] = Layer(name=rule.name, operation=rule.operation, settings=settings)
        elif found[rule.name].operation is not rule.operation:
            earlier = found[rule.name]
            found[rule.name] = replace(earlier, settings={**earlier.settings, **own})
    if any(shape.layer == DEFAULT_LAYER for shape in shapes) and DEFAULT_LAYER not in found:
        settings = dict(options.settings)
        found[DEFAULT_LAYER] = Layer(name=DEFAULT_LAYER, operation=None, settings=settings)
    shaded = {shape.layer for shape in shapes if shape.level is not None}
    return tuple(
        replace(layer, shares=options.shades.shares) if layer.name in shaded else layer
        for layer in found.values()
    )


def layer_findings(shapes: Sequence[Shape], options: ReadingOptions) -> tuple[Finding, ...]:
    """Findings on rules that match nothing, and on shapes that no rule matches."""
    if not options.layers:
        message = "the recipe has no layers: areas are engraved and lines scored"
        return (note("no-layers", message, "name layers in the recipe to choose otherwise"),)
    found = []
    filled = {shape.layer for shape in shapes}
    for rule in options.layers:
        if rule.name not in filled and not rule.choose.optional:
            message = f"layer {rule.name!r} is empty: {rule.choose} matches nothing that is painted"
            found.append(warn("empty-layer", message, QUOTE_SELECTOR))
    left = [shape for shape in shapes if shape.layer == DEFAULT_LAYER]
    if left:
        names = [placed_name(one.id, one.sources[0].line, one.sources[0].label) for one in left]
        message = f"no layer chooses {listed(names)}: areas are engraved and lines scored"
        ids = [shape.id for shape in left]
        found.append(note("no-layer-chosen", message, "add a layer for them", elements=ids))
    return tuple(found)
