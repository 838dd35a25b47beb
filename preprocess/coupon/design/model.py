"""A coupon: artwork to be marked and graded, with the settings and lengths of each cell.

A definition is written beside the artwork. Whoever reads grades builds the coupon from it again,
with the same cells under the same id.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

from annotated_types import Ge, Gt, Len

from preprocess.model.artwork.settings import Direction, Settings
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from preprocess.model.declared import Declared, Doc
from preprocess.passes.interleave.interleave import Form
from preprocess.units import Length, Pitch

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


class CouponKind(StrEnum):
    """Quantity that a coupon measures."""

    POWER_SPEED = "power-speed"
    PITCH = "pitch"
    ROW_SPAN = "row-span"
    TOGETHER_APART = "together-apart"
    ONE_WAY_TWO_WAY = "one-way-two-way"
    BAR_DISTANCE = "bar-distance"
    TIP_WIDTH = "tip-width"
    SIZES = "sizes"
    SPOT_BLEED = "spot-bleed"
    SCORE_DEPTH = "score-depth"
    FIELD_SCALE = "field-scale"
    RASTERED_INTERLEAVED = "rastered-interleaved"
    OWN_ROWS = "own-rows"
    REPEATS = "repeats"
    FIRST_ROW = "first-row"
    GREY_STEPS = "grey-steps"
    FOCUS_STEPS = "focus-steps"
    BLADES = "blades"


OWN_ROW_KINDS = frozenset({CouponKind.RASTERED_INTERLEAVED, CouponKind.OWN_ROWS})
"""Kinds in which layers without a pitch are marked in rounds: own rows, or strips."""


class Grade(StrEnum):
    """Grade of a cell; never light or dark, since filaments differ in that."""

    WEAK = "weak"
    EVEN = "even"
    HEAVY = "heavy"
    MOLTEN = "molten"


class Sharpness(StrEnum):
    """How the marks on a step look beside the best ones; never light or dark."""

    SHARP = "sharp"
    SOFT = "soft"
    HARDLY = "hardly"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRows(Declared):
    """Rows that are marked in rounds: their distance, rounds, direction and form."""

    pitch: Annotated[Pitch, Gt(0), Doc("distance between rows")]
    rounds: Annotated[int, Ge(1), Doc("sweeps over every k-th row")]
    direction: Annotated[Direction, Doc("one-way or two-way")] = Direction.ONE_WAY
    form: Annotated[
        Form, Doc("own-rows: lines to score; strips: a path to a round, of areas one row high")
    ] = Form.OWN_ROWS


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponDefinition(Declared):
    """Complete input of a coupon: the same definition gives the same coupon.

    `settings` are those of layers A, B, C, …; scored layers have no pitch. `lengths` vary within a
    layer: spans, widths, gaps or distances, by kind.
    """

    coupon: Annotated[int, Doc("version of this file's format: 1")] = 1
    kind: Annotated[CouponKind, Doc("what the coupon measures")]
    plate: Annotated[
        tuple[Length, Length], Gt(0), Doc("width and height of the plate that is marked")
    ]
    thickness: Annotated[Length | None, Gt(0), Doc("of the plate")] = None
    room: Annotated[
        tuple[Length, Length] | None,
        Gt(0),
        Doc("part of the field, around the middle, that may be used; the whole field if not set"),
    ] = None
    settings: Annotated[tuple[Settings, ...], Len(1), Doc("of layers A, B, C, …, in order")]
    labels: Annotated[Settings, Doc("with which the labels are scored")]
    lengths: Annotated[tuple[Length, ...], Len(1), Gt(0), Doc("what varies within a layer")]
    own_rows: Annotated[OwnRows | None, Doc("of layers that are marked in rounds")] = None
    crosses: Annotated[bool, Doc("small crosses by which a photo finds its place")] = False
    machine: Annotated[Machine | None, Doc("the machine at the bench")] = None
    filament: Annotated[Filament | None, Doc("what was known of the filament; no trials")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One graded or measured part of a coupon.

    `layer` is the id of its output layer. `power` is a share of the rated power, `speed` mm/s,
    `pitch` mm (0 where the cell is scored and has no rows). `extra` are the machine's own settings
    by name. `size` holds lengths in mm by name,
    `shapes` the ids of the shapes of the artwork that make up the cell.
    """

    name: str
    layer: str
    power: float
    speed: float
    pitch: float
    two_way: bool
    extra: Mapping[str, str]
    size: Mapping[str, float]
    shapes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """Artwork with its cells, and the bench on which it is to be marked.

    `id` is the kind and 8 hexadecimal digits of a hash of the whole definition. `beside` are
    squares of known power that the cells are compared with.
    """

    id: str
    kind: str
    artwork: Artwork
    bench: Bench
    cells: tuple[Cell, ...]
    beside: tuple[Cell, ...] = ()
