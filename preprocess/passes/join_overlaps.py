"""join-overlaps: unites outlines that overlap; closes and fills open contours."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING, Annotated, ClassVar

import shapely
from annotated_types import Gt

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import FILLED, MERGED, SEPARATE, ZONED
from preprocess.engine.ledger_entries import exchange_entries
from preprocess.engine.selection import selection_test
from preprocess.findings import Finding, note
from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.overlay.components import overlapping_groups
from preprocess.geometry.overlay.even_odd import crossing_rings, fill_crossing_gaps
from preprocess.model.artwork.artwork import exchange_shapes
from preprocess.model.artwork.settings import Operation
from preprocess.model.declared import Doc
from preprocess.passes._shared.close_contours import close_contours
from preprocess.units import Length, digits

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.model.artwork.artwork import Artwork, Exchange
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

    Test = Callable[[Shape], bool]
    Joined = tuple[Sequence[Shape], list[Finding]]

_TRACED = (Operation.SCORE, Operation.CUT)

_WORTH = 1e-6
"""Areas below this, mm², and lengths below it, mm, come from rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinOverlaps(Params):
    """Unite outlines that overlap, as those of script lettering and exported fonts do.

    Overlapping shapes of one layer become one shape; those that only touch stay apart. A blank
    overlap, where contours of one path cross, is filled; holes that cross nothing stay holes.
    Squares that meet corner to corner look the same: exclude such patterns with `except`. With
    `close`, lines to engrave whose ends nearly meet become filled areas; lines to score or cut
    become rings.
    """

    name: ClassVar = "join-overlaps"
    contract: ClassVar = Contract(keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED}))

    close: Annotated[
        Length | None,
        Gt(0),
        Doc("close contours with gaps up to this; without it lines stay open"),
    ] = None
    lines: Annotated[
        bool,
        Doc("also unite crossing rings to score or cut: stretches inside another ring go"),
    ] = False

    def contract_on(self, bench: Bench) -> Contract:  # noqa: ARG002
        """Filled contours are areas of their own, without a level."""
        if self.close is None:
            return self.contract
        return Contract(keeps=self.contract.keeps - {MERGED, ZONED})

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Close contours, fill their crossings, then unite overlapping shapes."""
        wanted = selection_test(artwork, self)
        shapes: Sequence[Shape] = artwork.shapes
        findings: list[Finding] = []
        if self.close is not None:
            shapes, findings = close_contours(shapes, wanted, self.close)
        for step in (_crossings_filled, _areas_joined, *([_rings_united] if self.lines else [])):
            shapes, found = step(shapes, wanted)
            findings += found
        after = tuple(shapes)
        before, kept = set(map(id, artwork.shapes)), set(map(id, after))
        return Outcome(
            artwork=replace(artwork, shapes=after),
            findings=tuple(findings),
            changes=exchange_entries(
                (shape for shape in artwork.shapes if id(shape) not in kept),
                (shape for shape in after if id(shape) not in before),
                "overlaps joined",
            ),
        )


def _crossings_filled(shapes: Sequence[Shape], wanted: Test) -> Joined:
    """Fill the blank overlaps of crossing contours."""
    result: list[Shape] = []
    findings: list[Finding] = []
    for shape in shapes:
        mine = shape.is_engraved_area and wanted(shape)
        area = fill_crossing_gaps(shape.geometry) if mine else shape.geometry
        more = area.area - shape.geometry.area
        result.append(replace(shape, geometry=area) if more > _WORTH else shape)
        if more > _WORTH:
            message = (
                f"filled {digits(more, 3)} mm² of {shape.id} left blank where its contours cross"
            )
            remedy = "if the blank is intended, exclude the shape with except"
            told = note("crossings-filled", message, remedy, elements=[shape.id], layer=shape.layer)
            findings.append(told)
    return result, findings


def _areas_joined(shapes: Sequence[Shape], wanted: Test) -> Joined:
    """Unite engraved areas of one layer and level that overlap, in the place of the first."""
    groups: dict[tuple[str, int | None], list[Shape]] = defaultdict(list)
    for shape in shapes:
        if shape.is_engraved_area and wanted(shape):
            groups[shape.layer, shape.level].append(shape)
    exchanges: list[Exchange] = []
    findings: list[Finding] = []
    for (layer, _), mine in groups.items():
        several = [
            [mine[i] for i in some] for some in overlapping_groups([s.geometry for s in mine])
        ]
        joined = [_joined(some) for some in several]
        for (first, *others), new in zip(several, joined, strict=True):
            exchanges += [(first, (new,)), *((shape, ()) for shape in others)]
        if several:
            findings.append(_told(layer, [shape for some in several for shape in some], joined))
    return exchange_shapes(shapes, exchanges), findings


def _joined(shapes: Sequence[Shape]) -> Shape:
    sources = dict.fromkeys(source for shape in shapes for source in shape.sources)
    area = union([shape.geometry for shape in shapes])
    return replace(shapes[0], geometry=area, sources=tuple(sources), stroke=None)


def _told(layer: str, before: Sequence[Shape], after: Sequence[Shape]) -> Finding:
    twice = fsum(s.geometry.area for s in before) - fsum(s.geometry.area for s in after)
    message = (
        f"{len(before)} shapes of {layer} overlapped and became {len(after)}; "
        f"{twice:.2f} mm² would have been marked twice"
    )
    return note("overlaps-joined", message, elements=[shape.id for shape in before], layer=layer)


def _rings_united(shapes: Sequence[Shape], wanted: Test) -> Joined:
    """Remove the stretches of crossing rings, to score or cut, that lie inside one another."""
    groups: dict[tuple[str, Operation], list[int]] = defaultdict(list)
    for number, shape in enumerate(shapes):
        if shape.operation in _TRACED and not shape.is_area and wanted(shape):
            groups[shape.layer, shape.operation].append(number)
    result: list[Shape | None] = list(shapes)
    findings: list[Finding] = []
    for (layer, _), mine in groups.items():
        parts, owner = shapely.get_parts([shapes[i].geometry for i in mine], return_index=True)
        changed = set()
        for numbers, outlines in crossing_rings(parts):
            changed |= set(owner[numbers].tolist())
            parts[numbers] = None
            parts[numbers[0]] = outlines
        for index in sorted(changed):
            rest = [part for part in parts[owner == index] if part is not None]
            new = replace(shapes[mine[index]], geometry=as_lines(rest)) if rest else None
            result[mine[index]] = new
        if changed:
            old = [shapes[mine[index]] for index in sorted(changed)]
            less = fsum(s.geometry.length for s in old) - fsum(
                s.geometry.length for index in changed if (s := result[mine[index]]) is not None
            )
            message = f"rings of {layer} cross: removed {less:.2f} mm inside other rings"
            ids = [shape.id for shape in old]
            findings.append(note("rings-joined", message, elements=ids, layer=layer))
    return [shape for shape in result if shape is not None], findings
