"""How well photos of grey-steps coupons tell the curve of a machine's greys.

``python -m tests.grey_photos 40 2100`` takes so many photos by calculation, each of a machine,
a plastic and a light of its own, and prints the figures of docs/use/measure.md. Half have the usual
light, lamps included, half are taken with care.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from preprocess.calibrate.greys.curve_fit import fit_curve
from preprocess.calibrate.greys.grey_pairs import GreyPair
from preprocess.calibrate.greys.photo_power import photo_powers
from preprocess.coupon.artwork.build import build
from preprocess.coupon.artwork.grey_steps import step_greys
from preprocess.coupon.design.definition import read_definition
from preprocess.errors import Refusal, UserError
from preprocess.photo.coupon_tones import coupon_places, photo_tones, pooled_coupon
from preprocess.photo.photo_reading import read_photo
from preprocess.photo.reading.picture import read_picture
from preprocess.photo.registering.marked_drawing import marked_drawing
from tests.photos.__main__ import FIXTURES, frame_of
from tests.photos.scenes import PLATE, Coupons, coupon_scene

COUPON = build(read_definition(FIXTURES / "grey-steps.coupon.yaml"))
DRAWN = Coupons((FIXTURES / "grey-steps.svg").read_text("utf-8"))
CLEAR = {"glare": 0.0, "blur": 0.7, "exposure": 0.75, "curve": 0.3}


def power_of(grey, low, high, gamma):
    """The curve as the machine file has it."""
    return low + (high - low) * ((254 - grey) / 254) ** gamma


def photo_of(rng, curve, strength, page, conditions):
    """A photo of a marked coupon: the machine's curve, and the power at which the tone is half."""
    powers = {cell.name: cell.power for cell in COUPON.beside}
    powers |= {str(n): power_of(grey, *curve) for n, grey in enumerate(step_greys(), 1)}
    tones = {f"cell-{name}": 1 - np.exp(-((p / strength) ** 2.2)) for name, p in powers.items()}
    return coupon_scene(rng, page, DRAWN, tones, wide=1200, conditions=conditions)


def told(scene, folder):
    """The power of each grey as the product tells it, by name of its square."""
    path = Path(folder) / "greys.jpg"
    path.write_bytes(scene.shot.data)
    reading = read_photo(read_picture(path), marked_drawing(COUPON.artwork), scene.thickness)
    tones = photo_tones(reading, coupon_places(COUPON))
    return photo_powers(COUPON, pooled_coupon(COUPON, [reading], [tones]))


def main() -> None:
    """Take the photos, and print the figures."""
    count, seed = int(sys.argv[1]), int(sys.argv[2])
    page, off, sure, curves, refused = frame_of(PLATE), [], [], [], 0
    greys = np.array(step_greys())
    with tempfile.TemporaryDirectory() as folder:
        for number in range(count):
            rng = np.random.default_rng([seed, number])
            true = rng.uniform(0.08, 0.16), rng.uniform(0.38, 0.5), np.exp(rng.normal(0, 0.4))
            scene = photo_of(
                rng, true, rng.uniform(0.25, 0.45), page, CLEAR if number % 2 else None
            )
            try:
                found = told(scene, folder)
                pairs = [
                    GreyPair(greys[int(name) - 1], power, sigma * 3**0.5)
                    for name, (power, sigma) in found.items()
                ]
                curve = fit_curve(pairs).grey
            except (Refusal, UserError):
                refused += 1
                continue
            for pair in pairs:
                off.append(pair.power - power_of(pair.grey, *true))
                sure.append(off[-1] / pair.within * 3**0.5)
            ends = curve.from_, curve.to, curve.gamma
            curves.append(np.abs(power_of(greys, *ends) - power_of(greys, *true)).max())
    print(f"{count} photos, {refused} refused, {len(off)} greys told")
    print(f"power off: rms {100 * np.std(off):.2f} %, worst {100 * np.abs(off).max():.1f} %")
    print(f"beyond two standard deviations: {100 * np.mean(np.abs(sure) > 2):.1f} %")
    middle, most = 100 * np.median(curves), 100 * np.quantile(curves, 0.9)
    print(f"worst power of a curve: median {middle:.1f} %, nine of ten {most:.1f} %")


if __name__ == "__main__":
    main()
