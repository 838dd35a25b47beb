"""Images of greys as the laser's software sees them, and the heat of rows whose power changes.

A pixel row is a row of the beam, through the middle of its pixels; white is dark. Pillow decodes.
Heat as in `heat`, but along a row the light is a step for every pixel. A row just under the beam is
a sum over the beam's way; all others count as lit at once where the beam was, blurred by Gaussians
whose widths are taken from a table.
"""

from __future__ import annotations

import base64
import io
import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from lxml import etree
from PIL import Image
from scipy.special import ndtr

from tests.second_simulator.beam import Laser, Light
from tests.second_simulator.heat import NODES, WEIGHTS, Cells, Plastic, best_lag

REACH = 30
"""Pixels to both sides that count in a row under the beam."""

HREF = "{http://www.w3.org/1999/xlink}href"


@dataclass(frozen=True)
class Curve:
    """Power of the grey beside white and of black, shares; the curve between."""

    low: float
    high: float
    gamma: float = 1.0

    def powers(self, grey: np.ndarray) -> np.ndarray:
        share = ((254.0 - np.minimum(grey, 254)) / 254.0) ** self.gamma
        return np.where(grey == 255, 0.0, self.low + (self.high - self.low) * share)


@dataclass(frozen=True)
class Picture:
    """One image of a file: the title of its layer, place and size in mm, greys rows × columns."""

    title: str
    left: float
    top: float
    wide: float
    high: float
    greys: np.ndarray

    @property
    def rows(self) -> np.ndarray:
        """The v of every pixel row, mm."""
        return self.top + self.high * (np.arange(len(self.greys)) + 0.5) / len(self.greys)


@dataclass(frozen=True)
class Way:
    """How images are swept: mm/s."""

    speed: float
    two_way: bool = False


def read_pictures(data: bytes) -> list[Picture]:
    """All images of a file in its order: upright, or with rows that run up the page.

    These are seen from the right edge of the page, so that rows lie level: left is minus y, and
    top is x.
    """
    root = etree.fromstring(data)
    assert root.get("width").endswith("mm")
    found = []
    for group in root.iterfind("{*}g"):
        for image in group.iterfind("{*}image"):
            left, top, wide, high = (float(image.get(n)) for n in ("x", "y", "width", "height"))
            turn = image.get("transform")
            if turn is not None:
                *factors, x, y = (float(one) for one in turn[len("matrix(") : -1].split())
                assert (factors, left, top) == ([0, -1, 1, 0], 0, 0)
                left, top = -y, x
            head, _, text = image.get(HREF).partition(",")
            assert head == "data:image/png;base64"
            with Image.open(io.BytesIO(base64.b64decode(text))) as opened:
                assert opened.mode == "L"
                greys = np.array(opened)
            found.append(Picture(group.findtext("{*}title"), left, top, wide, high, greys))
    return found


@dataclass(frozen=True)
class GreyLight:
    """Rows in time order. `power` is W per W at each column; the rest is one entry a row."""

    y: np.ndarray
    power: np.ndarray
    start: np.ndarray
    at: np.ndarray
    forward: np.ndarray
    speed: float
    left: float
    cell: float
    pitch: float
    lasts: float

    @property
    def x(self) -> np.ndarray:
        return self.left + self.cell * (np.arange(self.power.shape[1]) + 0.5)

    def visits(self) -> np.ndarray:
        """When the beam passes each column, or the nearest lit one, rows × columns."""
        lit = self.power > 0
        found = np.empty(self.power.shape)
        for row, mask in enumerate(lit):
            known = self.x[mask]
            near = np.searchsorted((known[1:] + known[:-1]) / 2, self.x)
            place = np.where(mask, self.x, known[near])
            ahead = 1.0 if self.forward[row] else -1.0
            found[row] = self.at[row] + ahead * (place - self.start[row]) / self.speed
        return found


def grey_light(pictures: list[Picture], curve: Curve, way: Way, laser: Laser) -> GreyLight:
    """Follow the beam over images that share their columns, one after another."""
    now, here, found = 0.0, None, []
    first = pictures[0]
    cell = first.wide / first.greys.shape[1]
    for number, picture in enumerate(pictures):
        assert (picture.left, picture.greys.shape[1]) == (first.left, first.greys.shape[1])
        now += laser.pause if number else 0.0
        forward = True
        for v, greys in zip(picture.rows, picture.greys, strict=True):
            lit = np.flatnonzero(greys != 255)
            if not len(lit):
                continue
            a, b = picture.left + cell * lit[0], picture.left + cell * (lit[-1] + 1)
            begin, end = (a, b) if forward else (b, a)
            if here is not None and here[2] == number:
                now += laser.turnaround + (0 if way.two_way else (here[3]) / laser.fly_back)
            elif here is not None:
                away = math.hypot(begin - here[0], v - here[1])
                now += laser.turnaround + away / laser.fly_back
            found.append((v, curve.powers(greys), begin, now, forward))
            now += (b - a) / way.speed
            here = end, v, number, b - a
            forward = not forward if way.two_way else True
    y, power, start, at, ahead = (np.array(each) for each in zip(*found, strict=True))
    pitch = float(np.diff(np.unique(np.round(y, 5))).min())
    return GreyLight(y, power, start, at, ahead, way.speed, first.left, cell, pitch, now)


def grey_peaks(light: GreyLight, plastic: Plastic, spreads: tuple[float, ...]) -> np.ndarray:
    """Peak rises of every pixel, spreads × rows × columns, K per W; 0 where dark."""
    smooth = np.array(spreads) ** 2 / 12
    window = 3.2 * math.sqrt(plastic.sigma**2 + smooth.max())
    visits, order = light.visits(), np.argsort(light.at)
    lag = best_lag(plastic, light.speed, float(smooth[0]))
    oldest = float(visits.max() - visits.min()) + lag
    widths, blurred = _blurs(light, plastic, oldest)
    out = np.zeros((len(spreads), *light.power.shape))
    kernels: dict[float, np.ndarray] = {}
    for place, row in enumerate(order):
        now, earlier = visits[row] + lag, order[:place]
        targets = np.flatnonzero(np.abs(light.y - light.y[row]) <= window)
        targets = targets[light.at[targets] <= light.at[row]]
        age = now - visits[earlier]
        along = np.sqrt(plastic.sigma**2 + 2 * plastic.alpha * age)
        rise = _between(blurred[earlier], widths, along) * plastic.sinks(age)
        for target in targets:
            away = light.y[target] - light.y[row]
            key = round(abs(away), 6)
            if key not in kernels:
                kernels[key] = under_beam(light, plastic, smooth, key, lag)
            lit = light.power[target] > 0
            for n, more in enumerate(smooth):
                across = along**2 + more
                far = (light.y[target] - light.y[earlier])[:, None]
                felt = rise * np.exp(-(far**2) / (2 * across)) / np.sqrt(across)
                total = felt.sum(axis=0) / (plastic.capacity * math.sqrt(2 * math.pi) * light.speed)
                kernel = kernels[key][n]
                kernel = kernel if light.forward[row] else kernel[::-1]
                own = np.convolve(light.power[row], kernel, "full")
                total = total + own[REACH : REACH + len(total)]
                out[n, target] = np.maximum(out[n, target], np.where(lit, total, 0.0))
    return out


def _blurs(light, plastic, oldest):
    """Power of every row blurred by Gaussians: standard deviations, and rows × these × columns."""
    least, most = plastic.sigma, math.sqrt(plastic.sigma**2 + 2 * plastic.alpha * oldest)
    widths = np.geomspace(least, most * 1.001, 2 + int(math.log(most / least) / math.log(1.06)))
    columns = light.power.shape[1]
    found = np.empty((len(light.power), len(widths), columns))
    for n, width in enumerate(widths):
        reach = min(columns, int(5 * width / light.cell) + 2)
        ends = (np.arange(-reach, reach + 2) - 0.5) * light.cell / width
        kernel = np.diff(ndtr(ends))
        for row, power in enumerate(light.power):
            found[row, n] = np.convolve(power, kernel, "full")[reach : reach + columns]
    return widths, found


def _between(blurred, widths, along):
    """Blurred power at the widths that hold, rows × columns; the table is even in its logarithm."""
    step = math.log(widths[1] / widths[0])
    place = np.clip(np.log(along / widths[0]) / step, 0, len(widths) - 1.000001)
    lower = place.astype(int)
    into = place - lower
    row, column = np.indices(along.shape)
    return blurred[row, lower, column] * (1 - into) + blurred[row, lower + 1, column] * into


def under_beam(light, plastic, smooth, away, lag):
    """Rise at a pixel, `lag` after the beam has passed it, from each pixel: an odd kernel."""
    found = np.zeros((len(smooth), 2 * REACH + 1))
    for place in range(-REACH, REACH + 1):
        # the source lies `place` pixels ahead; the beam goes towards it
        low, high = (place - 0.5) * light.cell, min((place + 0.5) * light.cell, lag * light.speed)
        pieces = np.linspace(low, high, 9) if high > low else []
        for a, b in pairwise(pieces):
            x = (a + b) / 2 + (b - a) / 2 * NODES
            age = np.maximum(lag - x / light.speed, 1e-12)
            along = plastic.sigma**2 + 2 * plastic.alpha * age
            rise = plastic.sinks(age) * np.exp(-(x**2) / (2 * along)) / np.sqrt(along)
            for n, more in enumerate(smooth):
                across = along + more
                felt = rise * np.exp(-(away**2) / (2 * across)) / np.sqrt(across)
                whole = (b - a) / 2 * WEIGHTS @ felt / (2 * math.pi * plastic.capacity)
                found[n, REACH - place] += whole / light.speed
    return found


def cells_and_light(light: GreyLight, peak: np.ndarray) -> tuple[Light, Cells]:
    """For the judge: runs as stretches, pixels as their cells."""
    lit = np.pad(light.power > 0, ((0, 0), (1, 1)))
    row, first = np.nonzero(~lit[:, :-1] & lit[:, 1:])
    _, stop = np.nonzero(lit[:, :-1] & ~lit[:, 1:])
    stretch = np.repeat(np.arange(len(row)), stop - first)
    column = np.concatenate([np.arange(a, b) for a, b in zip(first, stop, strict=True)])
    a, b = light.left + light.cell * first, light.left + light.cell * stop
    ones = np.ones(len(row))
    stretches = Light(
        light.y[row], a, b, light.at[row], ones > 0, ones, ones, row, light.pitch, light.lasts
    )
    values = peak[:, row[stretch], column].T
    return stretches, Cells(light.x[column], stretch, np.full(len(column), light.cell), values)
