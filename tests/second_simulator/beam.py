"""The beam's way over a written drawing: which stretches it lights, in which order, and when.

The rule of the machine, in short. Colours follow one another in the order in which they appear.
Filled paths are swept row by row, a path or a colour at a time; stroked ones are traced. The first
row lies on the upper edge, half a pitch below it, or on a multiple of the pitch from the page's
corner. Rows without light cost nothing. After each lit row comes a turnaround, and one-way the way
back over the row. Between two paths the beam turns around and flies; between colours it rests too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from tests.second_simulator.drawing import Path


@dataclass(frozen=True)
class Setting:
    """What a person types in for one colour; power is a share, lengths mm, speed mm/s, degrees."""

    power: float
    speed: float
    pitch: float = 0.1
    two_way: bool = False
    angle: float = 0.0
    repeats: int = 1


@dataclass(frozen=True)
class Laser:
    """The machine: seconds and mm/s."""

    turnaround: float = 1.2e-3
    fly_back: float = 2500.0
    pause: float = 0.3
    each_colour: bool = True
    first_row: str = "edge"
    jumps_gaps: bool = False


@dataclass(frozen=True)
class Light:
    """Lit stretches in time order, one entry each, in the frame of the rows.

    `y` across, from `a` to `b` along (mm); `t0` (s) when the beam enters, at a where `forward`.
    `energy` is W s per mm at full absorption of 1 W; `colour` numbers colours.
    """

    y: np.ndarray
    a: np.ndarray
    b: np.ndarray
    t0: np.ndarray
    forward: np.ndarray
    speed: np.ndarray
    energy: np.ndarray
    colour: np.ndarray
    pitch: float
    lasts: float


def light_of(paths: list[Path], settings: dict[str, Setting], laser: Laser) -> Light:
    """Follow the beam from its first point of light to its last."""
    clock = _Clock(laser)
    order = list(dict.fromkeys(path.colour for path in paths if path.colour in settings))
    for number, colour in enumerate(order):
        setting = settings[colour]
        mine = [path for path in paths if path.colour == colour]
        if number:
            clock.rest(laser.pause)
        for _ in range(setting.repeats):
            for filled, some in groupby(mine, key=lambda path: path.filled):
                clock.do(list(some), setting, number, swept=filled)
    return clock.light()


class _Clock:
    """Where the beam is, and when."""

    def __init__(self, laser: Laser) -> None:
        self.laser = laser
        self.now, self.waits = 0.0, 0.0
        self.at: tuple[float, float] | None = None
        self.found: list[tuple[float, ...]] = []
        self.pitch = math.inf

    def rest(self, seconds: float) -> None:
        self.waits += seconds

    def do(self, paths: list[Path], setting: Setting, colour: int, *, swept: bool) -> None:
        if not swept:
            for path in paths:
                for line in path.lines:
                    self._trace(line, setting, colour)
            return
        self.pitch = min(self.pitch, setting.pitch)
        groups = [paths] if self.laser.each_colour else [[path] for path in paths]
        for group in groups:
            self._sweep(group, setting, colour)

    def _go(self, place: tuple[float, float]) -> None:
        """From the last light to the next, dark; both in the frame of the rows."""
        if self.at is not None:
            away = math.dist(self.at, place)
            self.now += self.waits + self.laser.turnaround + away / self.laser.fly_back
        self.waits = 0.0

    def _trace(self, line: np.ndarray, setting: Setting, colour: int) -> None:
        turned = _turned(line, setting.angle)
        for (u0, v0), (u1, v1) in pairwise(turned):
            if (u0, v0) == (u1, v1):
                continue
            if (u0, v0) != self.at:
                self._go((u0, v0))
            self._mark(v0, (u0, u1), setting, colour)
            self.now += math.hypot(u1 - u0, v1 - v0) / setting.speed
            self.at = (u1, v1)

    def _sweep(self, group: list[Path], setting: Setting, colour: int) -> None:
        rows = rows_of(group, setting, self.laser.first_row)
        if not rows:
            return
        forward = True
        v, spans = rows[0]
        self._go((spans[0][0], v))
        for number, (v, spans) in enumerate(rows):
            ordered = spans if forward else [(b, a) for a, b in reversed(spans)]
            for n, (start, end) in enumerate(ordered):
                if n:
                    gap = abs(start - ordered[n - 1][1])
                    across = self.laser.fly_back if self.laser.jumps_gaps else setting.speed
                    self.now += gap / across
                self._mark(v, (start, end), setting, colour)
                self.now += abs(end - start) / setting.speed
                self.at = (end, v)
            if number < len(rows) - 1:
                self.now += self.laser.turnaround
                if setting.two_way:
                    forward = not forward
                else:
                    self.now += (spans[-1][1] - spans[0][0]) / self.laser.fly_back

    def _mark(self, v: float, way: tuple[float, float], setting: Setting, colour: int) -> None:
        a, b = min(way), max(way)
        energy = setting.power / setting.speed
        self.found.append((v, a, b, self.now, way[1] > way[0], setting.speed, energy, colour))

    def light(self) -> Light:
        y, a, b, t0, forward, speed, energy, colour = (
            np.array(x) for x in zip(*self.found, strict=True)
        )
        pitch = self.pitch if math.isfinite(self.pitch) else _spacing(y)
        shift = t0.min()
        return Light(
            y,
            a,
            b,
            t0 - shift,
            forward > 0,
            speed,
            energy,
            colour.astype(int),
            pitch,
            self.now - shift,
        )


def _spacing(y: np.ndarray) -> float:
    return float(np.median(np.diff(np.unique(np.round(y, 4)))))


def rows_of(group: list[Path], setting: Setting, first_row: str):
    """Lit rows of some areas that are swept together: v and its stretches, ascending."""
    turned = [
        (path.even_odd, [_turned(line, setting.angle) for line in path.lines]) for path in group
    ]
    every = np.concatenate([line for _, lines in turned for line in lines])
    top, bottom, pitch = every[:, 1].min(), every[:, 1].max(), setting.pitch
    first = {
        "edge": top,
        "half-pitch": top + pitch / 2,
        "page": pitch * math.ceil(top / pitch - 1e-9),
    }[first_row]
    found = []
    for number in range(math.ceil((bottom - first) / pitch - 1e-9)):
        v = first + number * pitch
        spans = _union(
            [s for even_odd, lines in turned for s in _stretches(lines, v, even_odd=even_odd)]
        )
        if spans:
            found.append((v, spans))
    return found


def _turned(points: np.ndarray, angle: float) -> np.ndarray:
    """u along rows at an angle (counter-clockwise, y down), v across them."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return points if not angle else points @ np.array([[c, s], [-s, c]])


def _stretches(lines: list[np.ndarray], v: float, *, even_odd: bool) -> list[tuple[float, float]]:
    v = v + 1e-9  # a row on an edge lights what lies below it
    crossings = []
    for line in lines:
        (x0, y0), (x1, y1) = line[:-1].T, line[1:].T
        cut = (y0 <= v) != (y1 <= v)
        x = x0[cut] + (v - y0[cut]) * (x1[cut] - x0[cut]) / (y1[cut] - y0[cut])
        crossings += zip(x.tolist(), np.where(y1[cut] > y0[cut], 1, -1).tolist(), strict=True)
    crossings.sort()
    found, winding = [], 0
    for (x, way), (after, _) in pairwise(crossings):
        winding += way
        inside = (winding % 2 != 0) if even_odd else winding != 0
        if inside and after - x > 1e-6:
            found.append((x, after))
    return found


def _union(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for a, b in sorted(spans):
        if found and a <= found[-1][1] + 1e-9:
            found[-1] = (found[-1][0], max(found[-1][1], b))
        else:
            found.append((a, b))
    return found


def clipped(light: Light, box: tuple[float, float, float, float]) -> Light:
    """What of the light falls on a rectangle; rows must lie along it."""
    left, top, right, bottom = box
    a, b = np.maximum(light.a, left), np.minimum(light.b, right)
    late = np.where(light.forward, a - light.a, light.b - b) / light.speed
    keep = (b > a) & (light.y >= top) & (light.y <= bottom)
    whole = replace(light, a=a, b=b, t0=light.t0 + late)
    names = ("y", "a", "b", "t0", "forward", "speed", "energy", "colour")
    return replace(whole, **{name: getattr(whole, name)[keep] for name in names})
