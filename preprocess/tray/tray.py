"""The tray: parts, card and machine's measures to layers, a mesh, a plan and findings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.offset.offset import grow_area, shrink_area
from preprocess.geometry.overlay.booleans import difference, intersection, union
from preprocess.geometry.relief.layers import SolidLayer, layers_mesh
from preprocess.preview.relief.tray_plan import TrayPlan, tray_plan_svg
from preprocess.tray.features import tray_features
from preprocess.tray.measures import FOOT, LEAD_IN, TAPER, TrayMeasures
from preprocess.tray.tray_findings import TrayFigures, tray_print_findings
from preprocess.tray.tray_part import footprints, tray_parts
from preprocess.write.stl import stl_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats
    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.tray.features import TrayFeatures
    from preprocess.tray.tray_part import TrayPart

_SAME = 1e-6
_TAPERED, _FOOT_LAYERS, _CROSS_LAYERS = 2, 2, 3
"""Layers: the tray's own first ones, those with room for the part's, and the depth of crosses."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedTray:
    """A tray: its layers in artwork coordinates, the STL to print, its plan (SVG), findings."""

    layers: tuple[SolidLayer, ...]
    stl: bytes
    plan: bytes
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heights:
    """Heights in mm above the tray's underside, all on layers."""

    floor: float
    ledge: float
    top: float


def make_tray(
    after: Artwork,
    bench: Bench,
    solids: Sequence[Floats | None],
    measures: TrayMeasures,
    *,
    title: str,
    seats: int = 1,
) -> PrintedTray:
    """Make the tray for an artwork.

    Args:
        after: the artwork as it is written, with parts, poses and bars.
        bench: machine and parts.
        solids: triangles of the parts with a model, None for others, in the order of the bench.
        measures: what a person gives.
        title: name of the job, for the plan.
        seats: of the tray; two and more are numbered on the plan.

    Raises:
        Refusal: there is no part, a part has no height, or was scaled.
    """
    parts = tray_parts(after, bench, solids)
    bars = [shape.bars for shape in after.shapes if shape.bars is not None]
    features = tray_features([part.outline for part in parts], bars, measures.clearance)
    plane = max(part.plane for part in parts)
    heights = _heights(plane, measures)
    layers = _layers(parts, features, heights, measures)
    mesh = _as_printed(layers_mesh(layers), features)
    free = difference(features.slots, _open_at(layers, heights.ledge, features))
    figures = TrayFigures(
        size=tuple(np.ptp(mesh.reshape(-1, 3), axis=0).tolist()),
        surface=heights.floor + plane,
        card_top=heights.ledge + measures.card,
        measures=measures,
        features=features,
        bars_off=difference(union(bars), free).area if bars else 0.0,
        parts=len(parts),
    )
    plan = TrayPlan(
        title=title,
        plate=features.plate,
        pockets=as_area([grow_area(part.outline, measures.clearance) for part in parts]),
        parts=tuple(after.parts),
        slots=features.slots,
        notches=features.notches,
        holes=features.holes,
        crosses=features.crosses,
        seats=seats,
        heights=(heights.floor, heights.top, heights.floor + plane),
    )
    return PrintedTray(
        layers=tuple(layers),
        stl=stl_bytes(mesh),
        plan=tray_plan_svg(plan),
        findings=tuple(tray_print_findings(figures)),
    )


def _heights(plane: float, measures: TrayMeasures) -> _Heights:
    least = (_TAPERED + 1) * measures.layer
    floor = measures.on_layers(max(measures.floor, least))
    top = measures.on_layers(floor + (plane if measures.depth is None else measures.depth))
    return _Heights(
        floor=floor,
        ledge=min(measures.on_layers(floor + plane - measures.card), top),
        top=max(top, measures.on_layers(floor + _FOOT_LAYERS * measures.layer)),
    )


def _layers(
    parts: Sequence[TrayPart], features: TrayFeatures, heights: _Heights, measures: TrayMeasures
) -> list[SolidLayer]:
    """All layers from below; those that are alike are one."""
    step = measures.layer
    count = round(heights.top / step)
    tops = [round((n + 1) * step, 6) for n in range(count)]
    prints = footprints(parts, [top - heights.floor for top in tops])
    pockets = _Pockets(prints)
    found: list[SolidLayer] = []
    keys: list[object] = []
    for number, top in enumerate(tops):
        low = round(number * step, 6)
        amount = _growth(low, top, heights, measures)
        key = (
            (tuple(id(one[number]) for one in prints), round(amount, 6))
            if low >= heights.floor - _SAME
            else min(number, _TAPERED),
            low >= heights.ledge - _SAME,
            low >= heights.top - _CROSS_LAYERS * step - _SAME,
        )
        if keys and keys[-1] == key:
            found[-1] = SolidLayer(found[-1].low, top, found[-1].area)
            continue
        keys.append(key)
        if low < heights.floor - _SAME:
            area = _base(features, number)
        else:
            area = difference(
                features.plate, union([pockets.at(number, amount), *_cut(features, key)])
            )
        found.append(SolidLayer(low, top, _printable(area, measures.nozzle)))
    return found


def _growth(low: float, top: float, heights: _Heights, measures: TrayMeasures) -> float:
    """The gap between part and pocket in one layer: wider at the foot, and towards the top."""
    foot = FOOT if low < heights.floor + _FOOT_LAYERS * measures.layer - _SAME else 0.0
    lead = max(0.0, top - (heights.top - min(LEAD_IN, (heights.top - heights.floor) / 2)))
    return measures.clearance + max(foot, lead)


def _base(features: TrayFeatures, number: int) -> MultiPolygon:
    """The plate with its holes; the first layers are narrower, and their holes wider."""
    inward = TAPER * max(0, _TAPERED - number) / _TAPERED
    plate = shrink_area(features.plate, inward) if inward else features.plate
    return difference(plate, grow_area(features.holes, inward))


def _cut(features: TrayFeatures, key: tuple[object, ...]) -> list[MultiPolygon]:
    cut = [features.holes, features.notches]
    cut += [features.slots] if key[1] else []
    return [*cut, features.crosses] if key[2] else cut


class _Pockets:
    """Pockets layer by layer, each footprint grown once."""

    def __init__(self, prints: list[list[MultiPolygon]]) -> None:
        self.prints = prints
        self.known: dict[tuple[int, float], MultiPolygon] = {}

    def at(self, number: int, amount: float) -> MultiPolygon:
        return union([self._grown(one[number], amount) for one in self.prints])

    def _grown(self, area: MultiPolygon, amount: float) -> MultiPolygon:
        key = id(area), round(amount, 6)
        if key not in self.known:
            self.known[key] = grow_area(area, amount + _OUTSIDE, tolerance=2 * _OUTSIDE)
        return self.known[key]


_OUTSIDE = 0.003
"""mm that pockets are grown by beyond the gap, since chords lie within their arcs."""


def _printable(area: MultiPolygon, nozzle: float) -> MultiPolygon:
    """The area without walls thinner than a nozzle; nothing is added to it."""
    core = shapely.buffer(area, -nozzle / 2, join_style="mitre")
    return intersection(as_area(shapely.buffer(core, nozzle / 2, quad_segs=4)), area)


def _open_at(layers: Sequence[SolidLayer], height: float, features: TrayFeatures) -> MultiPolygon:
    """Where no plate lies under the card: pockets, notches and holes just below the ledge."""
    under = [one.area for one in layers if one.high <= height + _SAME]
    return difference(features.plate, under[-1])


def _as_printed(mesh: Floats, features: TrayFeatures) -> Floats:
    """The mesh with its lower left corner at 0, 0 and y up, as printers have it."""
    left, _, _, bottom = features.plate.bounds
    turned = mesh * [1.0, -1.0, 1.0] + [-left, bottom, 0.0]
    return turned[:, ::-1]
