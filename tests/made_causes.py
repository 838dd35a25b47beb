"""Maps of tones whose causes are known, and how often they are told from them.

Five motifs are marked in one way each. Truth is the second simulator's, in a plastic that conducts
a tenth more and with another spread than the product believes; the tone is a curve that levels
off. One or two of four causes make each map: heat, a tilt, lines of the print, a patch.

    python -m tests.made_causes 120 7000
"""

from __future__ import annotations

import sys
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from scipy.interpolate import NearestNDInterpolator
from scipy.ndimage import distance_transform_edt, gaussian_filter

from preprocess.causes.causes import causes_of
from preprocess.causes.found import HEAT, LINES, PATCH, TILT
from preprocess.photo.measured import MeasuredJob
from tests.second_simulator.arts import outlines
from tests.second_simulator.beam import Laser, Setting, light_of
from tests.second_simulator.drawing import Path
from tests.second_simulator.heat import Plastic, peaks

CAUSES = HEAT, TILT, LINES, PATCH
MOTIFS = {
    "blade": False,
    "block with a tail": False,
    "waist": False,
    "lettering": True,
    "comb": True,
}
"""By name; True for rows in both directions, where rows in one leave no heat to see."""

STEP = 0.2
BELIEVED, TRUE = (0.3, 0.6), (0.3, 0.42, 0.6, 0.85)
FAST = Plastic(conductivity=1.1 * Plastic().conductivity)


class Motif(NamedTuple):
    """Where a motif is marked and seen, and its heat: spreads × rows × columns."""

    x: np.ndarray
    y: np.ndarray
    seen: np.ndarray
    believed: np.ndarray
    true: np.ndarray


@lru_cache(maxsize=len(MOTIFS))
def motif(name: str) -> Motif:
    """The heat of a motif as the product believes it and as it is, blurred as a photo is."""
    lines = tuple(outlines(name))
    setting = Setting(1.0, 400.0, two_way=MOTIFS[name])
    light = light_of(
        [Path("black", filled=True, even_odd=True, lines=lines)], {"black": setting}, Laser()
    )
    cells, truth = peaks(light, Plastic(), BELIEVED), peaks(light, FAST, TRUE)
    x, y = cells.x, light.y[cells.stretch]
    across, down = np.meshgrid(
        np.arange(x.min() - 0.5, x.max() + 0.5, STEP), np.arange(y.min() - 0.5, y.max() + 0.5, STEP)
    )
    nearest = NearestNDInterpolator(np.column_stack([x, y]), np.arange(len(x)))
    cell = nearest(across, down).astype(int)
    lit = (np.abs(down - y[cell]) < 0.11) & (np.abs(across - x[cell]) < cells.length[cell] / 2)
    lit = gaussian_filter(lit.astype(float), 1) > 0.45
    inner = distance_transform_edt(np.pad(lit, 1))[1:-1, 1:-1] * STEP > 0.25
    seen = inner & (down > y.min() + 0.8)
    held = [_seen(peak[cell], seen) for some in (cells, truth) for peak in some.peak.T]
    count = len(BELIEVED)
    return Motif(across, down, seen, np.array(held[:count]), np.array(held[count:]))


def _seen(heat: np.ndarray, seen: np.ndarray) -> np.ndarray:
    share = gaussian_filter(seen.astype(float), 1.5)
    blurred = gaussian_filter(np.where(seen, heat, 0.0), 1.5) / np.maximum(share, 1e-9)
    return np.where(seen, blurred, np.nan)


def heat_tone(made: Motif, spread: int, random: np.random.Generator) -> np.ndarray:
    """2 to 5 ΔL* of heat (rms): a tone that levels off, lighter or darker marks."""
    log = np.log(made.true[spread][made.seen])
    steep = random.uniform(1.8, 3.0)
    tone = 1 - np.exp(-0.8 * np.exp(steep * (log - np.median(log))))
    size = random.uniform(2, 5) / tone.std()
    return random.choice([-1, 1]) * size * (tone - np.median(tone))


def other_tone(cause: str, x: np.ndarray, y: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """ΔL* of a tilt (1.5 to 4, rms), of lines (1.3 to 3, rms), of a patch (5 to 10 at most)."""
    if cause == TILT:
        turn = random.uniform(0, 2 * np.pi)
        along = (x - x.mean()) * np.cos(turn) + (y - y.mean()) * np.sin(turn)
        along /= along.std()
        return random.uniform(1.5, 4) * (along + 0.25 * along**2)
    if cause == LINES:
        turn = np.radians(random.choice([0, 45, 90, 135]) + random.normal(0, 1.5))
        apart, phase = random.uniform(0.6, 2.0), random.uniform(0, 6)
        wave = np.sin(2 * np.pi * (x * np.cos(turn) + y * np.sin(turn)) / apart + phase)
        return random.uniform(1.3, 3) * np.sqrt(2) * wave
    middle, radius, form = random.integers(len(x)), random.uniform(2, 5), random.uniform(0.7, 1.4)
    away = ((x - x[middle]) * form) ** 2 + ((y - y[middle]) / form) ** 2
    return -random.uniform(5, 10) * np.exp(-away / (2 * radius**2))


def made_job(name: str, causes: frozenset[str], random: np.random.Generator) -> MeasuredJob:
    """A measured map with these causes, with noise of 0.8 and slow changes of 0.6 ΔL*."""
    made = motif(name)
    x, y = made.x[made.seen], made.y[made.seen]
    tone = np.full(len(x), -20.0)
    if HEAT in causes:
        tone += heat_tone(made, int(random.integers(len(TRUE))), random)
    for cause in CAUSES[1:]:
        if cause in causes:
            tone += other_tone(cause, x, y, random)
    for size, length in ((0.8, 0.25), (0.6, 4.0)):
        field = gaussian_filter(random.standard_normal(made.seen.shape), length / STEP)
        tone += size * (field / field.std())[made.seen]
    map_ = np.full(made.seen.shape, np.nan)
    map_[made.seen] = tone
    return MeasuredJob(
        name=f"{name}.yaml",
        drawing="0" * 64,
        origin=(float(made.x[0, 0]), float(made.y[0, 0])),
        step=STEP,
        ground=60.0,
        photos=(),
        tone=map_,
        index=made.believed[0],
        wider=made.believed[1],
        noise=0.8,
    )


def case(seed: int) -> tuple[str, frozenset[str], MeasuredJob]:
    """A motif, its causes (one where the seed is even, else two), and its map."""
    random = np.random.default_rng(seed)
    causes = frozenset(random.choice(CAUSES, 1 + seed % 2, replace=False).tolist())
    name = str(random.choice(list(MOTIFS)))
    return name, causes, made_job(name, causes, random)


def main(count: int, first: int) -> None:
    """Print how many were told exactly, and in how many the largest is a true one."""
    exact = largest = 0
    hits = {cause: [0, 0, 0] for cause in CAUSES}
    for seed in range(first, first + count):
        name, causes, job = case(seed)
        told = causes_of(job).parts
        exact += set(told) == causes
        largest += next(iter(told), None) in causes
        for cause in CAUSES:
            hits[cause][0] += cause in told and cause in causes
            hits[cause][1] += cause not in told and cause in causes
            hits[cause][2] += cause in told and cause not in causes
        if set(told) != causes:
            print(seed, name, sorted(causes), {k: round(v, 2) for k, v in told.items()})
    print(f"exactly right {exact}, largest is a true one {largest}, of {count}")
    for cause, (hit, missed, false) in hits.items():
        print(f"{cause}: told {hit}, missed {missed}, false {false}")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
