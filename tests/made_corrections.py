"""Parts whose heat is known, and how much evener one correction makes them.

A blade, a block with a tail or a waist is marked at powers that a believed spread of 0.3 mm asks
for, row by row or in four colours. The true spread is 0.6 mm and the plastic conducts a tenth more;
tones have noise. Heat is the second simulator's. The figure is the standard deviation of the
logarithm of the heat over the area, first rows aside.

    python -m tests.made_corrections 6 300
"""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import lru_cache

import numpy as np

from preprocess.correction.moves import light_factors
from tests.second_simulator.arts import outlines
from tests.second_simulator.beam import Laser, Setting, light_of
from tests.second_simulator.drawing import Path
from tests.second_simulator.heat import Plastic, peaks

BELIEVED, TRUE = 0.3, 0.6
MODEL = Plastic()
REAL = replace(MODEL, conductivity=1.1 * MODEL.conductivity)
MOTIFS = "blade", "block with a tail", "waist"
FIRST = 0.8
"""mm of cool first rows."""


@lru_cache(maxsize=len(MOTIFS))
def way(name: str):
    """The beam's way in one colour at full power."""
    path = Path("black", filled=True, even_odd=True, lines=tuple(outlines(name)))
    return light_of([path], {"black": Setting(1.0, 400.0)}, Laser())


def heat(light, plastic: Plastic, spread: float) -> np.ndarray:
    """Mean log heat of each row, in the order of the rows."""
    found = peaks(light, plastic, (spread,))
    _, number = np.unique(np.round(light.y[found.stretch], 4), return_inverse=True)
    weight = np.bincount(number, found.length)
    return np.bincount(number, found.length * np.log(found.peak[:, 0])) / weight


def rows_of(light) -> tuple[np.ndarray, np.ndarray]:
    """The row of each stretch, and the lit length of each row."""
    _, number = np.unique(np.round(light.y, 4), return_inverse=True)
    return number, np.bincount(number, light.b - light.a)


def with_powers(light, powers: np.ndarray):
    number, _ = rows_of(light)
    return replace(light, energy=light.energy * powers[number])


def unevenness(log_heat: np.ndarray, length: np.ndarray) -> float:
    """Standard deviation over the area, first rows aside."""
    later = np.arange(len(log_heat)) * 0.1 > FIRST
    mean = np.average(log_heat[later], weights=length[later])
    return float(np.sqrt(np.average((log_heat[later] - mean) ** 2, weights=length[later])))


def believed_powers(light, length: np.ndarray) -> np.ndarray:
    """Powers that even the heat out as the model sees it."""
    powers = np.ones(len(length))
    later = np.arange(len(length)) * 0.1 > FIRST
    for _ in range(3):
        log = heat(with_powers(light, powers), MODEL, BELIEVED)
        powers = np.clip(powers * np.exp(np.median(log[later]) - log), 0.3, 1.2)
    return powers


def in_levels(powers: np.ndarray, length: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """The level of each row and its power: means that are nearest to the powers wanted."""
    log, weight = (
        np.log(powers),
        np.where(np.arange(len(powers)) * 0.1 > FIRST, length, 0.2 * length),
    )
    means = np.linspace(log.min(), log.max(), count)
    for _ in range(40):
        level = np.abs(log[:, None] - means).argmin(axis=1)
        means = np.array(
            [
                np.average(log[level == n], weights=weight[level == n]) if any(level == n) else old
                for n, old in enumerate(means)
            ]
        )
    return level, np.exp(means)[level]


def measured(log_heat: np.ndarray, length: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Excess of heat by row as a photo tells it: tones of 40 ΔL* with noise, over 2 mm."""
    at = 0.1 * np.arange(len(log_heat))
    middle = np.median(np.repeat(log_heat, np.maximum(1, (length * 10).astype(int))))
    steep, span = 2.2, 40.0
    tone = span * (1 - np.exp(-0.75 * np.exp(steep * (log_heat - middle))))
    away = np.abs(at[:, None] - at)
    sd = 0.8 * np.sqrt(np.minimum(1, 0.6 / length))
    grain = np.outer(sd, sd) * np.exp(-(away**2) / (2 * 0.25**2))
    errors = 0.3**2 * np.exp(-(away**2) / (2 * 12.0**2)) + grain + 1e-6 * np.eye(len(at))
    tone = tone + np.linalg.cholesky(errors) @ random.standard_normal(len(at))
    smooth = np.exp(-(away**2) / (2 * 0.5**2))
    tone = smooth @ (tone * length) / (smooth @ length)
    share = np.clip(tone / span, 0.02, 0.98)
    return np.log(-np.log(1 - share) / 0.75) / steep


def corrected(name: str, seed: int, levels: int | None) -> tuple[float, float]:
    """Unevenness before and after one correction."""
    random = np.random.default_rng(seed)
    light = way(name)
    _, length = rows_of(light)
    powers = believed_powers(light, length)
    if levels:
        level, powers = in_levels(powers, length, levels)
    before = heat(with_powers(light, powers), REAL, TRUE)
    excess = measured(before, length, random)
    if levels:
        later = np.arange(len(length)) * 0.1 > FIRST
        weight = np.where(later, length, 1e-9)
        means = [np.average(excess, weights=weight * (level == n) + 1e-12) for n in range(levels)]
        excess = np.array(means)[level]
    after = heat(with_powers(light, powers * light_factors(excess)), REAL, TRUE)
    return unevenness(before, length), unevenness(after, length)


def main(count: int, first: int) -> None:
    """Print the unevenness before and after, row by row and in four colours."""
    for levels in (None, 4):
        pairs = []
        for seed in range(first, first + count):
            name = MOTIFS[seed % len(MOTIFS)]
            pairs.append(corrected(name, seed, levels))
            before, after = (100 * value for value in pairs[-1])
            print(f"{levels or 'each row'}: {name}: {before:.1f} % to {after:.1f} %")
        before, after = np.array(pairs).T
        less = 100 * (1 - after / before)
        print(f"{levels or 'each row'}: {less.mean():.0f} % less, {less.min():.0f} % at least")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
