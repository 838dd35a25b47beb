"""Limits of one drawing: caps against files made to exhaust the computer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Gt, Le

from preprocess.model.declared import Declared, Doc
from preprocess.units import DataSize

MIB = 2.0**20


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingLimits(Declared):
    """Limits of one drawing. Ordinary drawings need a tenth; raise one if a message names it."""

    file: Annotated[DataSize, Gt(0), Doc("largest file of a drawing")] = 256 * MIB
    depth: Annotated[int, Ge(1), Le(1000), Doc("deepest nesting of elements")] = 250
    copies: Annotated[
        int, Ge(0), Doc("elements drawn through uses, markers and tiles, in total")
    ] = 200_000
    tiles: Annotated[
        int, Ge(0), Doc("tiles of all patterns and nested clips, in total; beyond it, solid areas")
    ] = 20_000
    dashes: Annotated[
        int, Ge(0), Le(1_000_000), Doc("dashes of one line; beyond it, the line is solid")
    ] = 100_000
    vertices: Annotated[
        int, Ge(1), Doc("points of all outlines in total, with curves as chords")
    ] = 5_000_000
    crossings: Annotated[
        int, Ge(0), Doc("self-crossings of the outlines of filled paths, in total")
    ] = 200_000
    memory: Annotated[
        DataSize | None,
        Ge(1024 * MIB),
        Doc("memory for one drawing, if the system can limit it"),
    ] = 8192 * MIB
