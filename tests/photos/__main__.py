"""Measures many photos and prints the figures of docs/project/trust.md."""

from __future__ import annotations

import argparse
import json
import tempfile
from pathlib import Path

import numpy as np

from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.definition import read_definition
from preprocess.errors import Refusal
from preprocess.photo.coupon_tones import coupon_places, photo_tones
from preprocess.photo.finding.camera_map import apply_homography
from preprocess.photo.frame.layout import layout_for
from preprocess.photo.frame.page import frame_svg
from preprocess.photo.frame.paper import paper_plan
from preprocess.photo.photo_reading import read_photo
from preprocess.photo.reading.picture import read_picture
from preprocess.photo.registering.marked_drawing import marked_drawing
from preprocess.photo.tone.place_tones import tone_of
from tests.photos.scenes import PLATE, Coupons, coupon_scene, frame_page

FIXTURES = Path(__file__).parents[2] / "fixtures" / "coupons"
GRID = np.array([(x, y) for x in np.linspace(6, 54, 5) for y in np.linspace(4, 36, 4)])
KINDS = ("row-span", "blades")


def frame_of(size, paper="A6", rng=None):
    layout = layout_for(size)
    plan = paper_plan(layout, paper)
    return frame_page(frame_svg(layout, plan), plan.corner, layout.size, rng)


class Bench:
    """Coupons of the nursery, with their drawings as the product knows them and as drawn."""

    def __init__(self, kinds=KINDS):
        self.coupons, self.drawn, self.drawings, self.places = {}, {}, {}, {}
        for kind in kinds:
            coupon = build(read_definition(FIXTURES / f"{kind}.coupon.yaml"))
            self.coupons[kind] = coupon
            self.drawings[kind] = marked_drawing(coupon.artwork)
            self.places[kind] = coupon_places(coupon)
            self.drawn[kind] = Coupons((FIXTURES / f"{kind}.svg").read_text("utf-8"))

    def scene(self, rng, page, kind, **more):
        drawn = self.drawn[kind]
        tones = drawn.blade_tones(rng) if kind == "blades" else drawn.random_tones(rng)
        return coupon_scene(rng, page, drawn, tones, **more)


def measured(bench, scene, kind, folder, rng):
    """What the product makes of a photo, beside the truth."""
    path = Path(folder) / "photo.jpg"
    path.write_bytes(scene.shot.data)
    row = {"kind": kind, "ground": scene.name, "px": scene.shot.camera.px_per_mm}
    row |= {k: float(scene.shot.conditions[k]) for k in ("blur", "glare", "exposure")}
    try:
        reading = read_photo(
            read_picture(path), bench.drawings[kind], scene.thickness + rng.uniform(-0.2, 0.2)
        )
        row["turn"] = reading.turn
        row |= {"match": reading.place.match, "error": reading.place.error}
        row |= {"edge": reading.frame.edge, "fit": reading.frame.fit, "misfit": reading.misfit}
        row["swell"] = float(np.abs(reading.swell).max())
        row["registration"] = registration(scene, reading, row["px"])
        tones = photo_tones(reading, bench.places[kind])
    except Refusal as refusal:
        return row | {"refused": refusal.found}
    kept = [tone for tone in tones if not tone.why]
    row["left_out"] = sorted({t.place.cell for t in tones if t.why})
    row["tone"] = [tone_of(t.ln_ratio, reading.ground) for t in kept]
    row["truth"] = [truth_of(scene, t.place) for t in kept]
    row["places"] = [(t.place.cell, t.place.at) for t in kept]
    return row


def registration(scene, reading, px):
    """rms distance of a grid of places on the plate from where they are, mm."""
    seen = reading.camera.pixels(apply_homography(reading.place.map, GRID))
    return float(np.sqrt(((seen - scene.shot.pixels(GRID)) ** 2).sum(1).mean()) / px)


def truth_of(scene, place):
    share = scene.tone[f"cell-{place.cell}"]
    if callable(share):
        at = place.at + np.linspace(-0.5, 0.5, 11)
        share = float(np.mean(share(at)))
    return scene.truth(share)


def figures(rows):
    """Lines of figures over many photos."""
    kept = [r for r in rows if "tone" in r]
    off = np.array([r["registration"] for r in kept])
    error = [np.array(r["tone"]) - np.array(r["truth"]) for r in kept]
    within = []
    for r, e in zip(kept, error, strict=True):
        t = np.array(r["truth"])
        within.append(e - np.polyval(np.polyfit(t, e, 1), t) if np.ptp(t) > 3 else e - e.mean())
    every, inner = np.concatenate(error), np.concatenate(within)
    yield f"photos {len(rows)}, measured {len(kept)}"
    yield "registration mm: " + quantiles(off)
    yield (
        f"tone rms {rms(every):.2f}, median {np.median(np.abs(every)):.2f}, "
        f"within a photo rms {rms(inner):.2f}"
    )
    yield f"photos with places left out: {sum(bool(r['left_out']) for r in kept)}"
    for r in rows:
        if "refused" in r:
            told = ", ".join(f"{k} {r[k]:.2f}" for k in ("px", "glare", "blur", "exposure"))
            yield f"refused: {r['refused']} ({r['kind']}, {told})"


def rms(values):
    return float(np.sqrt((np.asarray(values) ** 2).mean()))


def quantiles(values):
    median, most = np.quantile(values, [0.5, 0.9])
    return f"median {median:.3f}, 90 % {most:.3f}, worst {np.max(values):.3f}"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("count", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("--rows", default="")
    args = parser.parse_args()
    rng = np.random.default_rng(args.seed)
    bench, rows = Bench(), []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(args.count):
            if number % 20 == 0:
                page = frame_of(PLATE, rng=rng)
            kind = KINDS[number % len(KINDS)]
            rows.append(measured(bench, bench.scene(rng, page, kind), kind, folder, rng))
            if args.rows:
                Path(args.rows).write_text(json.dumps(rows))
    for line in figures(rows):
        print(line)


if __name__ == "__main__":
    main()
