"""Filaments whose figures are known, with tones along three blades, and how well they are fitted.

Heat is the second simulator's, in a plastic with another conductivity; tones follow another curve
than the fit believes in. A fifth of the filaments break the model: char feeds on gathered heat, or
foam turns back where it is hot.

    python -m tests.made_tones 60 4000
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from shapely import MultiPolygon, Polygon

from preprocess.calibrate.heat.cell_heat import place_heat
from preprocess.calibrate.heat.patch_heat import HeatPatch, patch_artwork
from preprocess.calibrate.tones.heat_table import TABLE_DEPTHS, TABLE_SPREADS
from preprocess.calibrate.tones.tone_fit import ToneFit, fit_tones
from preprocess.calibrate.tones.tone_model import DEPTH, SPREAD, TONE_PRIOR
from preprocess.calibrate.tones.toned_places import BETTER_CONDUCTOR, TonedPlaces
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from tests.second_simulator.beam import Laser, Setting, light_of
from tests.second_simulator.drawing import Path
from tests.second_simulator.heat import Plastic, peaks_at

MACHINE = Machine(name="bench galvo", spot=0.08, turnaround=1.2e-3, fly_back=2500.0, rated_power=5)
PLASTIC = Filament(name="moss-green PLA", polymer="PLA")
BENCH = Bench(machine=MACHINE, filament=PLASTIC)
LASER = Laser(turnaround=1.2e-3, fly_back=2500.0, pause=0.0)
POWERS = 0.8, 1.0, 1.25
USUAL = 0.3
WIDE, TIP, LONG = 16.0, 1.0, 36.0
ALONG = np.arange(1.0, 35.5, 1.0)
SPEED = 400.0
GRID = TABLE_SPREADS, TABLE_DEPTHS
COLOURS = "red", "green", "blue"


@dataclass(frozen=True)
class Made:
    """A filament: figures, curve of the tone, and how it breaks the model, if it does."""

    spread: float
    plastic: Plastic
    tone: float
    steep: float
    half: float
    breaks: str = ""


def made(seed: int) -> Made:
    """Figures as filaments may have, by the priors of grades; every fifth one breaks the model."""
    random = np.random.default_rng(seed)

    def likely(prior: np.ndarray, low: float, high: float) -> float:
        while True:
            value = float(np.exp(random.normal(*prior)))
            if low < value < high:
                return value

    usual = Plastic()
    conducts = usual.conductivity * float(np.exp(random.normal(0, 0.15)))
    return Made(
        spread=likely(TONE_PRIOR[SPREAD], 0.1, 2.4),
        plastic=replace(usual, conductivity=conducts, depth=likely(TONE_PRIOR[DEPTH], 0.012, 0.35)),
        tone=random.choice([-1, 1]) * random.uniform(25, 50),
        steep=random.uniform(1.5, 4.0),
        half=random.uniform(0.3, 0.7),
        breaks=("char", "foam")[seed // 5 % 2] if seed % 5 == 0 else "",
    )


def pitches(*, deep: bool) -> tuple[float, ...]:
    """Pitch of each blade, mm; the third is finer where depth is wanted."""
    return (0.1, 0.1, 0.05 if deep else 0.1)


def powers(*, deep: bool) -> tuple[float, ...]:
    """Power of each blade; the finer one has half."""
    return tuple(USUAL * p for p in ((0.8, 1.25, 0.5) if deep else POWERS))


def outline(number: int) -> np.ndarray:
    """A straight blade, wide end above, closed: points × 2, mm."""
    left, top = 2 + 18.0 * number, 2.0
    middle = left + WIDE / 2
    corners = [(left, top), (left + WIDE, top), (middle + TIP / 2, top + LONG)]
    return np.array([*corners, (middle - TIP / 2, top + LONG), (left, top)])


@lru_cache(maxsize=2)
def places(*, deep: bool) -> TonedPlaces:
    """Where tones are measured, with the heat that the product computes; no tones yet."""
    layers, shapes = [], []
    for n, (name, power, pitch) in enumerate(
        zip("ABC", powers(deep=deep), pitches(deep=deep), strict=True)
    ):
        settings = Settings(
            power=power, speed=SPEED, pitch=pitch, direction=Direction.ONE_WAY, angle=0, repeats=1
        )
        area = MultiPolygon([Polygon(outline(n))])
        engrave = Operation.ENGRAVE
        shapes.append(Shape(id=name, layer=name, operation=engrave, geometry=area, sources=()))
        layers.append(Layer(name=name, operation=None, settings={engrave: settings}))
    artwork = Artwork(page=Page(width=60, height=40), shapes=tuple(shapes), layers=tuple(layers))
    faster = 0.15 * BETTER_CONDUCTOR
    benches = BENCH, replace(BENCH, filament=replace(PLASTIC, conductivity=faster))
    index, conducting = (
        np.concatenate(
            [place_heat(artwork, b, (s.layer, s.geometry), ALONG / LONG, GRID) for s in shapes]
        )
        for b in benches
    )
    count, blades = len(ALONG), np.repeat(range(3), len(ALONG))
    return TonedPlaces(
        index=index,
        conducting=conducting,
        speed=np.zeros(3 * count),
        pitch=np.array(pitches(deep=deep))[blades],
        coupon=np.zeros(3 * count, int),
        cell=blades,
        at=np.tile(ALONG, 3),
        tone=np.zeros(3 * count),
        sd=np.full(3 * count, 0.3),
        names=tuple(("blades", f"{name}1") for name in "ABC"),
    )


@lru_cache(maxsize=2)
def light(*, deep: bool):
    """The beam's way over the blades, and the stretch and the x of each measured place."""
    paths = [
        Path(colour, filled=True, even_odd=True, lines=(outline(n),))
        for n, colour in enumerate(COLOURS)
    ]
    each = zip(COLOURS, powers(deep=deep), pitches(deep=deep), strict=True)
    found = light_of(paths, {c: Setting(power, SPEED, pitch) for c, power, pitch in each}, LASER)
    stretch, x = [], []
    for n in range(3):
        mine = np.flatnonzero(found.colour == n)
        near = np.abs(found.y[mine][:, None] - (2.0 + ALONG)).argmin(axis=0)
        stretch += mine[near].tolist()
        x += [2 + 18.0 * n + WIDE / 2] * len(ALONG)
    return found, np.array(stretch), np.array(x)


def true_heat(one: Made, spreads: tuple[float, ...], *, deep: bool) -> np.ndarray:
    """Logarithms of the heat of each place: places × spreads."""
    way, stretch, x = light(deep=deep)
    return np.log(peaks_at(way, one.plastic, spreads, x, stretch))


def patch_way(width: float):
    """The beam's way over rows of one length, and a place in a later row."""
    corners = [(0, 0), (width, 0), (width, 6), (0, 6), (0, 0)]
    path = Path("black", filled=True, even_odd=True, lines=(np.array(corners, float),))
    way = light_of([path], {"black": Setting(USUAL, SPEED)}, LASER)
    return way, np.array([36]), np.array([width / 2])


def patch_heats(one: Made, widths: tuple[float, ...]) -> np.ndarray:
    """Logarithms of the heat in the middle of patches of these widths."""
    found = []
    for width in widths:
        way, stretch, x = patch_way(width)
        found.append(float(peaks_at(way, one.plastic, (one.spread,), x, stretch)[0, 0]))
    return np.log(found)


def believed_ratio(values: np.ndarray) -> float:
    """Logarithm of the heat of rows of 1 mm over that of rows of 24 mm, by the product."""
    grid = np.exp(values[1:2]), np.exp(values[2:3])
    narrow, wide = (believed_heat(width, grid) for width in (1.0, 24.0))
    return narrow - wide


def believed_heat(width: float, grid: tuple[np.ndarray, np.ndarray]) -> float:
    patch = patch_artwork(HeatPatch(size=(width, 6.0), speed=SPEED))
    cell = patch.shapes[0].layer, patch.shapes[0].geometry
    return float(place_heat(patch, BENCH, cell, [0.6], grid)[0, 0, 0])


def toned(one: Made, seed: int, *, deep: bool) -> TonedPlaces:
    """Tones along the blades: noise of 0.4 ΔL* from mm to mm, 0.3 slow, 0.2 by blade."""
    random = np.random.default_rng([seed, 1])
    gathered = 4 * one.spread
    heat, wider = true_heat(one, (one.spread, gathered), deep=deep).T
    patch = patch_heats(one, (8.0,))[0]
    middle = patch - np.log(-np.log(1 - one.half)) / one.steep
    if one.breaks == "char":
        heat = heat + 1.5 * np.maximum(0, wider - np.quantile(wider, 0.6))
    share = 1 - np.exp(-np.exp(one.steep * (heat - middle)))
    if one.breaks == "foam":
        share = share * (1 - 0.8 / (1 + np.exp(-(heat - np.quantile(heat, 0.7)) / 0.06)))
    held = places(deep=deep)
    away = np.abs(held.at[:, None] - held.at)
    same = held.cell[:, None] == held.cell
    errors = same * (0.3**2 * np.exp(-(away**2) / (2 * 12.0**2)) + 0.2**2)
    errors = errors + 0.4**2 * np.eye(len(away))
    noise = np.linalg.cholesky(errors) @ random.standard_normal(len(away))
    return replace(held, tone=one.tone * share + noise)


def main(count: int, first: int, *, deep: bool) -> None:
    """Print errors of spread, depth and ratio, and how often intervals hold and breaks are told."""
    rows, told, false = [], [0, 0], 0
    for seed in range(first, first + count):
        one = made(seed)
        found = fit_tones(toned(one, seed, deep=deep))
        speaks = found.left_out > 0
        if one.breaks:
            told[0] += speaks
            told[1] += 1
        else:
            false += speaks
        if one.breaks or speaks:
            print(seed, one.breaks or "like the model", f"leaves out {found.left_out}")
        if found.used is not None:
            rows.append((bool(one.breaks), *errors(one, found)))
    print(f"fitted {len(rows)} of {count}; breaks told {told[0]} of {told[1]}, false {false}")
    every = np.array(rows)
    for which, some in (("all", every), ("like the model", every[every[:, 0] == 0])):
        _, spread, spread_sd, depth, depth_sd, ratio = some.T
        print(
            f"{which}: spread x/÷ {np.exp(rms(spread)):.2f}, held {held(spread, spread_sd):.2f}; "
            f"depth x/÷ {np.exp(rms(depth)):.2f}, held {held(depth, depth_sd):.2f}; 1 to 24 mm "
            f"{100 * rms(ratio):.1f} % rms, {100 * float(np.median(np.abs(ratio))):.1f} % median"
        )


def errors(one: Made, found: ToneFit) -> tuple[float, ...]:
    """Errors of log spread and log depth with their standard deviations; that of the ratio."""
    sd = np.sqrt(np.diag(found.covariance))
    spread = found.mean[1] - np.log(one.spread)
    depth = found.mean[2] - np.log(one.plastic.depth)
    narrow, wide = patch_heats(one, (1.0, 24.0))
    ratio = believed_ratio(found.mean) - (narrow - wide)
    return float(spread), float(sd[1]), float(depth), float(sd[2]), float(ratio)


def rms(of: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(of))))


def held(of: np.ndarray, sd: np.ndarray) -> float:
    """Share of errors within intervals of 90 of 100 cases."""
    return float(np.mean(np.abs(of) < 1.645 * sd))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), deep=len(sys.argv) > 3)
