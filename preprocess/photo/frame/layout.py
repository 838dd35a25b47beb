"""Places of a frame's markers and greys round its window, in mm from its upper left corner.

The window alone says where they are. Its sides are whole steps, so that a photo tells which frame
it shows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Points

MARKER = 10.0
"""Side of a marker, mm: it is found from 6 pixels per mm on."""

BAND = 17.0
"""Width of the band round the window, mm: a white rim, the markers, and a white gap."""

RIM = 3.0
GREY = 4.6
"""Side of a grey patch, mm."""

WINDOW_STEP = 5.0
"""Sides of windows are multiples of this, mm."""

LEAST_WINDOW = 75.0, 45.0
"""Least window, mm: the markers of a smaller one leave no room for the greys."""

MOST_WINDOW = 400.0

ROOM = 12.0
"""mm by which a window is wider than the part: it may lie a little turned, and it has a height."""

REFLECTANCES = 0.04, 0.08, 0.14, 0.22, 0.33, 0.47, 0.64, 0.85
"""Light that the greys send back; the last is the bare paper, the first full ink."""

_ORDERS = (0, 7, 3, 5, 1, 6, 2, 4), (4, 2, 6, 1, 5, 3, 7, 0)
"""Greys above and below the window: mixed, so that no slope of the light looks like them."""

_ACROSS, _DOWN = 5, 4

MARKERS = 14
LEAST_MARKERS = 8
"""Markers of a frame, and how many of them must be seen."""


@dataclass(frozen=True, slots=True)
class FrameLayout:
    """The frame round a window of a width and a height in mm."""

    width: float
    height: float

    @property
    def size(self) -> tuple[float, float]:
        """Outer width and height, mm."""
        return self.width + 2 * BAND, self.height + 2 * BAND

    @property
    def window(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the window, mm."""
        return BAND, BAND, BAND + self.width, BAND + self.height

    @property
    def paces(self) -> Points:
        """From the first marker to the last, across and down, mm."""
        return np.array(self.size) - 2 * RIM - MARKER

    @property
    def markers(self) -> Points:
        """Upper left corner of each marker by its number: 14 × 2, mm."""
        wide, high = self.size
        xs = np.linspace(RIM, wide - RIM - MARKER, _ACROSS)
        ys = np.linspace(RIM, high - RIM - MARKER, _DOWN)
        above_and_below = [(x, y) for x in xs for y in ys[[0, -1]]]
        beside = [(x, y) for y in ys[1:-1] for x in xs[[0, -1]]]
        return np.array([*above_and_below, *beside], dtype=np.float64)

    @property
    def greys(self) -> tuple[tuple[float, float, float], ...]:
        """Left and top (mm) and reflectance of each grey patch: each grey above and below."""
        wide, high = self.size
        pace = (wide - 2 * RIM - MARKER) / (_ACROSS - 1)
        gap = (pace - MARKER - 2 * GREY) / 3
        lefts = [
            RIM + MARKER + n * pace + gap + k * (GREY + gap)
            for n in range(_ACROSS - 1)
            for k in range(2)
        ]
        inset = RIM + (MARKER - GREY) / 2
        tops = inset, high - inset - GREY
        return tuple(
            (left, top, REFLECTANCES[level])
            for top, order in zip(tops, _ORDERS, strict=True)
            for left, level in zip(lefts, order, strict=True)
        )


def layout_for(size: tuple[float, float]) -> FrameLayout:
    """The frame whose window leaves room round something of that width and height, mm."""
    sides = [
        max(least, WINDOW_STEP * np.ceil((side + ROOM) / WINDOW_STEP - 1e-9))
        for side, least in zip(size, LEAST_WINDOW, strict=True)
    ]
    return FrameLayout(*map(float, sides))
