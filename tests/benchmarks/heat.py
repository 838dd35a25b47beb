"""How long the heat prediction takes, and how much memory.

    python -m tests.benchmarks.heat

Targets on two cores: 100 × 100 mm at 0.1 mm within 5 s for ordinary artwork and within 10 s for a
solid square at a slow speed; 15 s for hundreds of separate paths; cost linear in rows × columns
over 1, 4 and 16 times; at most 1 GiB; a coarse preview within 0.5 s.
"""

import resource
import time
from dataclasses import replace

import shapely
from shapely import Point, box

from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index
from preprocess.marking.prediction import predict
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import RasterGroups
from tests.marking.drawn import area_of, artwork, shape, triangle
from tests.marking.struck import GALVO, settings


def disc_with_slits():
    slits = [box(5 * i, 2, 5 * i + 2, 98) for i in range(1, 20)]
    return area_of(Point(50, 50).buffer(50).difference(shapely.union_all(slits)))


def seeds():
    return area_of(
        *[Point(2.5 * i + 2, 2.5 * j + 2).buffer(1) for i in range(39) for j in range(39)]
    )


TOGETHER = replace(GALVO, raster_groups=RasterGroups.EACH_COLOUR)

ORDINARY = {
    "triangle of 80 × 100 mm": triangle(width=80, height=100),
    "disc of 100 mm with slits": disc_with_slits(),
    "seed-head, 1521 dots in one path": seeds(),
}


def timed(*shapes, effort=Effort.FULL, **how):
    art = artwork(*shapes, settings=settings(**how))
    start, worked = time.perf_counter(), time.process_time()
    found = heat_index(art, Bench(machine=GALVO), effort=effort)
    cells = sum(patch.lit.size for patch in found.images)
    return time.perf_counter() - start, time.process_time() - worked, cells


def bounded(name, *shapes, machine=TOGETHER, **how):
    """A prediction as `run` makes it, twice: of the drawing and of the output."""
    art = artwork(*shapes, settings=settings(**how))
    start, worked = time.perf_counter(), time.process_time()
    heat = predict(art, Bench(machine=machine), effort=Effort.BOUNDED, surely=False).heat
    cells = sum(image.lit.size for image in heat.images)
    took = time.perf_counter() - start, time.process_time() - worked
    print(
        f"{name:44s} {took[0]:6.2f} s ({took[1]:5.2f} s of one core)  {cells / 1e3:6.0f} k cells, "
        f"1 in {heat.every}, columns {heat.wide_columns or 0:.2f} mm  target 2.5 s"
    )


def show(name, measured, target):
    seconds, worked, cells = measured
    print(
        f"{name:44s} {seconds:6.2f} s ({worked:5.2f} s of one core)  {cells / 1e3:6.0f} k cells"
        f"  target {target:g} s"
    )


def main():
    for name, geometry in ORDINARY.items():
        for speed in (300.0, 1200.0):
            show(f"{name}, {speed:g} mm/s", timed(shape(geometry), speed=speed), 5)
    for speed in (150.0, 1200.0):
        measured = timed(shape(box(0, 0, 100, 100)), speed=speed)
        show(f"solid square 100 mm, {speed:g} mm/s", measured, 10)
    dots = [
        shape(box(8 * i, 8 * j, 8 * i + 4, 8 * j + 4), name=f"{i}-{j}")
        for i in range(12)
        for j in range(12)
    ]
    show("144 dots one after another", timed(*dots), 5)
    fronds = [
        shape(triangle(6 * i, 6 * j, 5, 5.5), name=f"{i}-{j}") for i in range(20) for j in range(19)
    ]
    show("380 leaves one after another", timed(*fronds, speed=900.0), 15)
    frames = [
        shape(box(0, 0, 100, 100).buffer(-n).exterior.buffer(0.2), name=f"{n}")
        for n in range(1, 40, 4)
    ]
    show("10 frames, mostly dark, one after another", timed(*frames, speed=900.0), 15)
    show("three repeats of a triangle of 50 mm", timed(shape(triangle()), repeats=3), 5)
    dots = [
        shape(Point(2.5 * i, 2.5 * j).buffer(0.6), name=f"{i}-{j}")
        for i in range(100)
        for j in range(100)
    ]
    bounded("in run: disc of 0.6 m", shape(Point(300, 300).buffer(300)), speed=1200.0)
    fine = shape(Point(150, 150).buffer(150))
    bounded("in run: disc of 300 mm, pitch 0.05 mm", fine, speed=1200.0, pitch=0.05)
    bounded("in run: 10 000 dots, each by itself", *dots, machine=GALVO, speed=900.0)
    bounded("in run: 10 000 dots together", *dots, speed=900.0)
    print("linear in rows × columns: seconds of one core per million cells")
    for side in (25, 50, 100):
        runs = [timed(shape(box(0, 0, side, side)), speed=1200.0) for _ in range(2)]
        print(f"  {side:3d} mm: {min(1e6 * worked / cells for _, worked, cells in runs):.2f}")
    for side in (48, 96):
        show(
            f"preview, solid {side} mm",
            timed(shape(box(0, 0, side, side)), effort=Effort.PREVIEW),
            0.5,
        )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"largest memory {peak:.0f} MiB (target 1024)")


if __name__ == "__main__":
    main()
