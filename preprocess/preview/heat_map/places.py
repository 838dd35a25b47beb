"""The places that findings name: numbered on the map, and listed below it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Severity
from preprocess.preview.drawing.canvas import (
    INK,
    TEXT_SIZE,
    Paint,
    group,
    mm,
    paragraph,
    path,
    text,
    text_width,
)
from preprocess.preview.drawing.page_layout import MARGIN, WIDTH
from preprocess.units import place_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.findings import Finding
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.artwork.artwork import Page
    from preprocess.preview.heat_map.scale import HeatScale

    Point = tuple[float, float]
    Box = tuple[float, float, float, float]

_MOST = 12
"""Places that get a number; more could not be told apart."""

DISC = 2.3
"""Radius of a number's disc, mm."""

_SAME = 1e-8
_LINE = 4.4
_GAP = 0.6
_REACHES = (4.5, 6.5, 9.0, 12.0, 16.0, 22.0, 30.0, 40.0)
_WAYS = tuple(math.tau * n / 16 for n in range(16))


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedPlace:
    """One numbered place: where the finding is, where its number stands, both on the sheet."""

    number: int
    finding: Finding
    spot: Point
    disc: Point


def choose_findings(
    findings: Sequence[Finding], heat: HeatIndex, scale: HeatScale
) -> tuple[list[Finding], int]:
    """The findings to number, the farthest from the window first, and how many are left."""
    there = [finding for finding in findings if finding.spot is not None]
    field = _Field(heat)
    there.sort(
        key=lambda finding: (
            list(Severity).index(finding.severity),
            -_oddness(finding.spot, field, scale),
        )
    )
    return there[:_MOST], max(0, len(there) - _MOST)


def _oddness(spot: Point | None, field: _Field, scale: HeatScale) -> float:
    """Distance of the index at a spot from the base, as the logarithm of their ratio."""
    found = field.at(spot) if spot else None
    return abs(math.log(max(scale.base if found is None else found, 1e-3) / scale.base))


class _Field:
    """The index at any spot: that of the nearest lit cell, of equal ones the first."""

    def __init__(self, heat: HeatIndex) -> None:
        self._lit = [patch for patch in heat.images if patch.lit.any()]
        self._points = [np.stack(patch.points)[:, patch.lit] for patch in self._lit]
        ends = [(*points.min(axis=1), *points.max(axis=1)) for points in self._points]
        self._boxes = np.array(ends).reshape(-1, 4).T

    def at(self, spot: Point) -> float | None:
        """The index; None where nothing is lit. Patches whose box lies farther off are passed."""
        left, top, right, bottom = self._boxes
        x, y = spot
        off = np.hypot(
            np.maximum(0, np.maximum(left - x, x - right)),
            np.maximum(0, np.maximum(top - y, y - bottom)),
        )
        best: tuple[float, int] = (math.inf, 0)
        found = None
        for number in np.argsort(off, kind="stable").tolist():
            if off[number] > best[0] + _SAME:
                break
            away = np.round(np.hypot(*(self._points[number] - np.array(spot)[:, None])), 9)
            nearest = int(np.argmin(away))
            if (float(away[nearest]), number) < best:
                best = float(away[nearest]), number
                patch = self._lit[number]
                found = float(patch.index[patch.lit][nearest])
        return found


def place_numbers(
    findings: Sequence[Finding], spots: Sequence[Point], room: Box, lit: MultiPolygon
) -> list[NumberedPlace]:
    """Give every finding a number beside its spot; no number covers another, or a spot.

    Args:
        findings: in the order of their numbers.
        spots: where they are on the sheet.
        room: box of the sheet within which numbers may stand.
        lit: what is marked, on the sheet: numbers stand beside it where they can.
    """
    found: list[NumberedPlace] = []
    for number, (finding, spot) in enumerate(zip(findings, spots, strict=True), 1):
        free = [p for p in _around(spot, room) if _is_free(p, spots, found)]
        beside = (p for p in free if shapely.Point(p).distance(lit) >= DISC)
        disc = next(beside, free[0] if free else spot)
        found.append(NumberedPlace(number=number, finding=finding, spot=spot, disc=disc))
    return found


def _around(spot: Point, room: Box) -> Iterator[Point]:
    """Points near a spot, the nearest first."""
    left, top, right, bottom = room
    for reach, way in product(_REACHES, _WAYS):
        x, y = spot[0] + reach * math.cos(way), spot[1] + reach * math.sin(way)
        if left + DISC <= x <= right - DISC and top + DISC <= y <= bottom - DISC:
            yield x, y


def _is_free(disc: Point, spots: Sequence[Point], found: Sequence[NumberedPlace]) -> bool:
    clear_of_discs = all(math.dist(disc, other.disc) > 2 * DISC + _GAP for other in found)
    return clear_of_discs and all(math.dist(disc, spot) > DISC + 2 * _GAP for spot in spots)


def draw_numbers(places: Sequence[NumberedPlace]) -> list[str]:
    """Spots, the lines to their numbers, and the numbers."""
    lines: list[str] = []
    for place in places:
        (x, y), (left, top) = place.spot, place.disc
        data = f"M{mm(x)} {mm(y)} L{mm(left)} {mm(top)}"
        lines += path(data, Paint(stroke="#ffffff", width=0.9))
        lines += path(data, Paint(stroke=INK, width=0.3))
        lines.append(_circle(place.spot, 0.7))
    for place in places:
        lines += _numbered(place.number, place.disc)
    return lines


def _numbered(number: int, at: Point) -> list[str]:
    words = str(number)
    left = at[0] - text_width(words) / 2
    return [_circle(at, DISC), text(left, at[1] + 0.36 * TEXT_SIZE, words, bold=True)]


def _circle(at: Point, radius: float) -> str:
    x, y = at
    place = f'cx="{mm(x)}" cy="{mm(y)}" r="{mm(radius)}"'
    return f'<circle {place} fill="#ffffff" stroke="{INK}" stroke-width="0.3"/>'


def list_places(
    places: Sequence[NumberedPlace], page: Page, left: int, y: float
) -> tuple[list[str], float]:
    """The list below y, one line for each place, and where it ends."""
    if not places:
        return [], y
    lines = [text(MARGIN, y + TEXT_SIZE, "Places to look at", size=1.1 * TEXT_SIZE, bold=True)]
    y += 1.5 * _LINE
    for place in places:
        lines += _numbered(place.number, (MARGIN + DISC, y + _LINE / 2))
        left_edge, above = MARGIN + 3 * DISC, y + _LINE / 2 - 0.64 * TEXT_SIZE
        words, end = paragraph(
            left_edge, above, _words(place.finding, page), WIDTH - MARGIN - left_edge
        )
        lines += words
        y = max(end, y + 2 * DISC) + _GAP
    if left:
        lines.append(text(MARGIN, y + TEXT_SIZE, f"{left} more: see the findings of the command"))
        y += _LINE
    return group("places", "Places to look at", lines), y + 2.0


def _words(finding: Finding, page: Page) -> str:
    """Finding and its place on the output page; the command tells the cause."""
    what = finding.message.partition(";")[0]
    element = f", {finding.elements[0]}" if finding.elements else ""
    if finding.spot is None:
        return what
    place = place_text((finding.spot[0] - page.left, finding.spot[1] - page.top))
    return f"{what} (at {place}{element})"
