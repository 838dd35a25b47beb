"""How even images of greys mark the eleven motifs, judged by the second simulator on the files.

``python -m tests.grey_evenness`` works out the rows of greys in docs/project/evenness.md anew and
writes them (some minutes). The words around them are written by hand.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.process_limits import convert_within_limits
from preprocess.recipe.load import load_recipe
from tests.evenness import PAGE, SPREADS, Figures, cells_of, figures_of, line, worst
from tests.second_simulator.arts import ARTS, drawing
from tests.second_simulator.beam import Laser
from tests.second_simulator.greys import (
    Curve,
    Way,
    cells_and_light,
    grey_light,
    grey_peaks,
    read_pictures,
)
from tests.second_simulator.heat import Plastic
from tests.second_simulator.judge import verdict
from tests.second_simulator.written import Job, written

if TYPE_CHECKING:
    from preprocess.pipeline import Conversion
    from tests.second_simulator.greys import GreyLight

RECIPE = """recipe: 1
design: motif.svg
machine: {{name: bench galvo, turnaround: 1.2 ms, fly_back: 2500 mm/s, spot: 0.08 mm,
  layer_pause: 0.3 s, grey: {{from: 5 %, to: 100 %, gamma: 1}}}}
filament: {{name: moss PLA, polymer: PLA}}
layers:
  - {{name: motif, operation: engrave, choose: {{select: "*"}}}}
settings:
  engrave: {{power: 60 %, speed: {speed} mm/s, pitch: {pitch} mm, direction: {direction},
    angle: {angle} deg}}
passes: [merge, {{grey: {{images: {images}}}}}]
"""
CURVE = 0.05, 1.0
"""Power of the lightest grey and of black, shares, in the recipe."""

WAYS = {
    "4 images of greys, two-way": (4, "two-way"),
    "4 images of greys, one-way": (4, "one-way"),
    "1 image of greys, one-way": (1, "one-way"),
    "1 image of greys, two-way": (1, "two-way"),
}
GAMMAS = 0.7, 1.4

FEW_ROWS = [("stalk", count, 0) for count in (4, 5, 6)]
FEW_ROWS += [("stalk", 4, 90), ("stalk", 5, 90), ("waist", 4, 0), ("waist", 5, 0)]
FEW_ROWS += [("waist", 5, 90), ("blade", 5, 0), ("comb", 5, 0)]
"""Motif, number of images, and angle of rows: what mends those that four images leave uneven."""

SMALL = [(motif, count) for motif in ("stalk", "script", "stipple", "waist") for count in (2, 3, 4)]
"""Motifs that four images take long for, in fewer of them."""


@dataclass(frozen=True, kw_only=True)
class GreyJob:
    """How a motif is to be marked; mm, mm/s; `gamma` is what the software really does."""

    motif: str
    images: int = 4
    direction: str = "two-way"
    pitch: float = 0.1
    speed: float = 400.0
    angle: int = 0
    gamma: float = 1.0


def converted(job: GreyJob) -> Conversion:
    """The job, written."""
    held = {name: getattr(job, name) for name in ("images", "direction", "pitch", "speed", "angle")}
    result = convert_within_limits(
        load_recipe(None, RECIPE.format(**held), "motif.svg"), drawing(job.motif), "motif.svg"
    )
    assert result.data is not None, result.findings
    return result


def light_of(result: Conversion, job: GreyJob) -> GreyLight:
    """The beam's way over the images that were written."""
    way = Way(job.speed, two_way=job.direction == "two-way")
    return grey_light(read_pictures(result.data), Curve(*CURVE, job.gamma), way, Laser())


def judged(job: GreyJob, result: Conversion | None = None) -> Figures:
    """What the second simulator says of the file."""
    light = light_of(result or converted(job), job)
    stretches, cells = cells_and_light(light, grey_peaks(light, Plastic(), SPREADS))
    found = [verdict(stretches, cells, number) for number in range(len(SPREADS))]
    return figures_of(found, light.lasts)


def few_rows(motif: str, images: int, angle: int) -> str:
    """A row of the table of few rows: with the right curve, and the worst of the other two."""
    job = GreyJob(motif=motif, images=images, angle=angle)
    file = converted(job)
    others = worst([judged(replace(job, gamma=gamma), file) for gamma in GAMMAS])
    said = cells_of(judged(job, file))
    rows = "across" if angle else "along"
    more = cells_of(others)
    return line(motif, f"{images}", rows, *said[:-1], more[0], more[1], more[3], said[-1])


def fewer_images(motif: str, images: int) -> str:
    """A row of the table of fewer images; time beside that of the one-way sweep."""
    found = judged(GreyJob(motif=motif, images=images))
    sweep = written(
        Job(motif=motif, passes="[merge]", direction="one-way", pitch=0.1, speed=400.0,
            groups="each-path")
    )[1].lasts  # fmt: skip
    longer = f"{100 * (found.seconds / sweep - 1):.0f}".replace("-", "−")
    return line(motif, f"{images}", *cells_of(found)[:-1], longer)


def main() -> None:
    """Work out all rows, and put them into the page below their headings."""
    ways, each = [], []
    for way, (images, direction) in WAYS.items():
        jobs = [GreyJob(motif=motif, images=images, direction=direction) for motif in ARTS]
        files = [converted(job) for job in jobs]
        found = [judged(job, file) for job, file in zip(jobs, files, strict=True)]
        ways.append(line(way, *cells_of(worst(found))))
        if direction == "two-way":
            for gamma in GAMMAS:
                others = [
                    judged(replace(job, gamma=gamma), file)
                    for job, file in zip(jobs, files, strict=True)
                ]
                for job, one in zip(jobs, others, strict=True):
                    print(job.motif, way, gamma, *cells_of(one))
                ways.append(line(f"{way}, true gamma {gamma:g}", *cells_of(worst(others))))
            each += [
                line(job.motif, way, *cells_of(one)) for job, one in zip(jobs, found, strict=True)
            ]
    text = PAGE.read_text("utf-8")
    few = [few_rows(*one) for one in FEW_ROWS]
    fewer = [fewer_images(*one) for one in SMALL]
    tables = {"greys": ways, "grey motifs": each, "few rows": few, "fewer images": fewer}
    for name, rows in tables.items():
        pattern = rf"(<!-- {name} -->\n\n[^\n]+\n[^\n]+\n)(?:\|[^\n]*\n)*"
        body = "\n".join(rows)
        text = re.sub(pattern, lambda m, body=body: f"{m[1]}{body}\n", text)
    PAGE.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
