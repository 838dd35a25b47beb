"""Spread and ratio of rows from one made-up photo of three blades: photo, measure, fit.

Filaments are those of `made_tones`, in PETG; those that break the model are passed over. The photo
is the tests' own (`tests.photos`), heat the second simulator's.

    python -m tests.photo_fits 20 8000
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

from preprocess.calibrate.grades.measured_tones import tones_of
from preprocess.calibrate.grades.trials import CouponTrial
from preprocess.calibrate.heat.cell_heat import place_heat
from preprocess.calibrate.heat.patch_heat import HeatPatch, patch_artwork
from preprocess.calibrate.tones.tone_fit import fit_tones
from preprocess.calibrate.tones.toned_places import toned_places
from preprocess.coupon.design.definition import read_definition
from preprocess.errors import Refusal
from preprocess.photo.coupon_tones import photo_tones, pooled_coupon
from preprocess.photo.photo_reading import read_photo
from preprocess.photo.reading.picture import read_picture
from tests.made_tones import Made, held, made, rms
from tests.photos.__main__ import FIXTURES, PLATE, Bench, frame_of
from tests.photos.scenes import coupon_scene
from tests.second_simulator.beam import Laser, Setting, light_of
from tests.second_simulator.drawing import Path as Drawn
from tests.second_simulator.heat import Plastic, peaks_at

PETG = Plastic(conductivity=2.4e-4, capacity=1.664e-3, sigma=0.015)
LASER = Laser(turnaround=1.2e-3, fly_back=2500.0, pause=0.5)
DEFINITION = read_definition(FIXTURES / "blades.coupon.yaml")


def filament(seed: int) -> Made:
    """A made filament, of PETG."""
    one = made(seed)
    conducts = one.plastic.conductivity / Plastic().conductivity * PETG.conductivity
    return replace(one, plastic=replace(PETG, conductivity=conducts, depth=one.plastic.depth))


def true_shares(one: Made, coupon) -> dict:
    """For each blade the share of mark, a function of mm from its wide end."""
    shapes = {shape.id: shape.geometry for shape in coupon.artwork.shapes}
    paths, settings, blades = [], {}, []
    for cell in coupon.cells:
        ring = np.array(shapes[f"cell-{cell.name}"].geoms[0].exterior.coords)
        paths.append(Drawn(cell.name, filled=True, even_odd=True, lines=(ring,)))
        settings[cell.name] = Setting(cell.power, cell.speed, cell.pitch)
        blades.append((cell.name, ring))
    way = light_of(paths, settings, LASER)
    middle = heat_of_patch(one, coupon.cells[1], 8.0)
    middle -= np.log(-np.log(1 - one.half)) / one.steep
    found = {}
    for number, (name, ring) in enumerate(blades):
        mine = np.flatnonzero(way.colour == number)[::5]
        x = np.full(len(mine), float(np.mean([ring[:, 0].min(), ring[:, 0].max()])))
        log = np.log(peaks_at(way, one.plastic, (one.spread,), x, mine)[:, 0])
        share = 1 - np.exp(-np.exp(one.steep * (log - middle)))
        found[f"cell-{name}"] = along(way.y[mine] - ring[:, 1].min(), share)
    return found


def along(at: np.ndarray, share: np.ndarray):
    return lambda where: np.interp(np.asarray(where), at, share)


def heat_of_patch(one: Made, cell, width: float) -> float:
    """Logarithm of the true heat in the middle of a patch at a cell's settings."""
    ring = np.array([(0, 0), (width, 0), (width, 6), (0, 6), (0, 0)], float)
    path = Drawn("patch", filled=True, even_odd=True, lines=(ring,))
    way = light_of([path], {"patch": Setting(cell.power, cell.speed, cell.pitch)}, LASER)
    found = peaks_at(way, one.plastic, (one.spread,), np.array([width / 2]), np.array([36]))
    return float(np.log(found[0, 0]))


def believed_ratio(mean: np.ndarray, bench, speed: float) -> float:
    """Logarithm of the heat of rows of 1 mm over that of rows of 24 mm, by the product."""
    grid = np.exp(mean[1:2]), np.exp(mean[2:3])
    narrow, wide = (
        float(place_heat(patch, bench, (patch.shapes[0].layer, area), [0.6], grid)[0, 0, 0])
        for width in (1.0, 24.0)
        for patch in [patch_artwork(HeatPatch(size=(width, 6.0), speed=speed))]
        for area in [patch.shapes[0].geometry]
    )
    return narrow - wide


def fitted(bench: Bench, one: Made, page, folder: str, random: np.random.Generator):
    """The fit of one photo, or why there is none."""
    coupon = bench.coupons["blades"]
    scene = coupon_scene(random, page, bench.drawn["blades"], true_shares(one, coupon))
    path = Path(folder) / "photo.jpg"
    path.write_bytes(scene.shot.data)
    thickness = scene.thickness + random.uniform(-0.2, 0.2)
    reading = read_photo(read_picture(path), bench.drawings["blades"], thickness)
    tones = photo_tones(reading, bench.places["blades"])
    measured = pooled_coupon(coupon, [reading], [tones])
    trial = CouponTrial(
        coupon=coupon.id, grades={}, tones=tones_of(measured), definition=DEFINITION
    )
    places = toned_places([trial], coupon.bench.filament)
    assert places is not None
    return fit_tones(places)


def main(count: int, first: int) -> None:
    """Print errors of spread and ratio over photos."""
    bench, rows, refused, passed = Bench(("blades",)), [], 0, 0
    coupon = bench.coupons["blades"]
    seeds = [seed for seed in range(first, first + 2 * count) if seed % 5][:count]
    with tempfile.TemporaryDirectory() as folder:
        page = frame_of(PLATE, rng=np.random.default_rng(first))
        for seed in seeds:
            one, random = filament(seed), np.random.default_rng([seed, 2])
            try:
                found = fitted(bench, one, page, folder, random)
            except Refusal as refusal:
                print(seed, "refused:", refusal.found)
                refused += 1
                continue
            passed += found.left_out > 0
            if found.used is None:
                print(seed, "tones do not fit")
                continue
            cell = coupon.cells[1]
            ratio = heat_of_patch(one, cell, 1.0) - heat_of_patch(one, cell, 24.0)
            off = found.mean[1] - np.log(one.spread)
            sd = float(np.sqrt(found.covariance[1, 1]))
            error = believed_ratio(found.mean, coupon.bench, cell.speed) - ratio
            print(
                f"{seed}: spread {off:+.2f} (sd {sd:.2f}), ratio {100 * error:+.1f} %", flush=True
            )
            rows.append((off, sd, error))
    spread, sd, ratio = np.array(rows).T
    print(f"fitted {len(rows)} of {len(seeds)}, refused {refused}, places left out in {passed}")
    print(f"spread x/÷ {np.exp(rms(spread)):.2f} rms, held {held(spread, sd):.2f}")
    median = 100 * float(np.median(np.abs(ratio)))
    print(f"1 to 24 mm: {100 * rms(ratio):.1f} % rms, {median:.1f} % median")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
