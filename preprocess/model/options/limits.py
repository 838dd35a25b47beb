"""How much a drawing may ask for before it is refused: caps against files made to exhaust."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Gt, Le

from preprocess.model.declared import Declared, Doc
from preprocess.units import DataSize

MIB = 2.0**20


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits(Declared):
    """What one drawing may take. Ordinary ones need a tenth of it; raise what a message names."""

    file: Annotated[DataSize, Gt(0), Doc("largest file of a drawing")] = 256 * MIB
    depth: Annotated[int, Ge(1), Le(1000), Doc("how deep elements may be nested")] = 250
    copies: Annotated[
        int, Ge(0), Doc("elements drawn through uses, markers and tiles, all together")
    ] = 200_000
    tiles: Annotated[
        int, Ge(0), Doc("tiles of all patterns, and clips within clips; beyond it, areas are solid")
    ] = 20_000
    dashes: Annotated[
        int, Ge(0), Le(1_000_000), Doc("dashes of one line; beyond it, the line is solid")
    ] = 100_000
    vertices: Annotated[
        int, Ge(1), Doc("points of all outlines together, curves cut into chords")
    ] = 5_000_000
    crossings: Annotated[
        int, Ge(0), Doc("how often the outlines of filled paths cross themselves, all together")
    ] = 200_000
    memory: Annotated[
        DataSize | None, Ge(1024 * MIB), Doc("memory for one drawing, where the system can hold it")
    ] = 8192 * MIB
