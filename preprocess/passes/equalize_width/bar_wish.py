"""Measures of bars that a recipe gives; lay-out, room and remedies use the same terms."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Gt, Le

from preprocess.engine.contract import Params
from preprocess.model.declared import Declared, Doc
from preprocess.units import Length, Share, Time


@dataclass(frozen=True, slots=True, kw_only=True)
class Until(Declared):
    """Evenness that the search for bars has to reach."""

    evenness: Annotated[
        Share,
        Gt(0),
        Le(1),
        Doc("largest excess of the hottest connected 0.5 mm² over the median of the area"),
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class BarWish(Params):
    """Measures that the recipe asks of bars, mm, and the rows that are to get them."""

    clearance: Annotated[
        Length, Ge(0), Doc("smallest distance from a bar to the part's silhouette")
    ] = 2.0
    bar: Annotated[Length, Gt(0), Doc("width of a bar")] = 0.6
    gap: Annotated[Length, Gt(0), Doc("distance between bars of groups that share rows")] = 0.4
    to_art: Annotated[Length, Ge(0), Doc("smallest distance from a bar to the artwork")] = 0.5
    field_margin: Annotated[
        Length, Ge(0), Doc("smallest distance from a bar to the edge of the machine's field")
    ] = 0.5
    span: Annotated[
        Length | None,
        Gt(0),
        Doc("width of rows with bars; if missing, the part's width plus twice clearance and bar"),
    ] = None
    narrower_than: Annotated[
        Length | None, Gt(0), Doc("only rows narrower than this get bars; if missing, all rows")
    ] = None
    quicker_than: Annotated[
        Time | None,
        Gt(0),
        Doc("only rows with a return time below this get bars"),
    ] = None
    until: Annotated[
        Until | None,
        Doc("search for the smallest span and the fewest rows with bars that predict even rows"),
    ] = None
