"""How near the page's heat comes to the index, and how large its data are, job by job.

    python -m tests.playback_figures                 all jobs, and the table of docs/use/playback.md
    python -m tests.playback_figures fern moth-apart some of them, told only

Of each side 300 cells of the index are taken whose middle lies in a run, and near which no rows of
another shape or angle pass; the page computes the hottest moment of each anew. The glow is compared
with the warmth of points at ten moments.
"""

from __future__ import annotations

import sys
import tempfile
from functools import partial
from itertools import dropwhile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.pipeline import convert, predict_both
from preprocess.playback.block.playback import packed, playback_of
from preprocess.recipe.load import load_recipe, recipe_from_mapping
from tests.benchmarks import crowds
from tests.playback_jobs import GALVO
from tests.playback_page import load_job, opened_scripts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preprocess.marking.prediction import Prediction

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "use" / "playback.md"
HEAD = "| job | hottest of a place, as drawn | as rewritten | glow | data |"

FIXTURES = {
    "fern": "fern/fern",
    "fern with bars": "fern/fern-with-bars",
    "moth, apart": "moth/moth-apart",
    "moth, together": "moth/moth-together",
    "seed-head": "seed-head/seed-head",
    "sprout": "sprout/sprout",
}
LARGE = {
    "10 000 dots": (partial(crowds.dots, 10_000), {"passes": ["merge", "interleave"]}),
    "solid of 100 mm, pitch 0.05 mm": (partial(crowds.solid, 100), {"pitch": "0.05 mm"}),
    "20 mm of own rows in rounds": (
        partial(crowds.crossed, 20),
        {"passes": [{"hatch": {"every": 3, "direction": "two-way"}}]},
    ),
    "1000 letters in greys": (
        partial(crowds.letters, 1000),
        {
            "passes": ["merge", "grey"],
            "machine": {**GALVO, "grey": {"from": "10 %", "to": "100 %", "gamma": 1}},
        },
    ),
}
CELLS = 300

GLOW = """(number) => {
  const S = job.sides[number], box = job.facts.box, found = [], cell = 0.1;
  const old = past(S, job.M, [box[0] - 3, box[1] - 3, box[2] + 3, box[3] + 3]);
  for (let k = 1; k <= 10; k++) {
    const time = (S.total * k) / 10, beam = beamAt(S, time - 1e-4);
    const near = [beam.x - 4, beam.y - 3, beam.x + 4, beam.y + 3];
    const picture = field(S, job.M, near, cell, old), shown = picture.at(time);
    for (let n = 0; n < 60; n++) {
      const i = (n * 37) % picture.nx, j = (n * 23) % picture.ny;
      const x = near[0] + (i + 0.5) * cell, y = near[1] + (j + 0.5) * cell;
      const warm = rises(S, job.M, x, y, [time])[0] * job.M.scale;
      if (warm > 0.05) found.push(Math.abs(shown[j * picture.nx + i] / warm - 1));
    }
  }
  return found;
}"""


def job_of(name: str):
    """A conversion and its predictions."""
    if name in FIXTURES:
        path = ROOT / "fixtures" / "jobs" / f"{FIXTURES[name]}.yaml"
        loaded = load_recipe(path)
        design = path.parent / str(loaded.recipe.design)
        result = convert(loaded, design.read_bytes(), design.name)
        return result, predict_both(result)
    drawing, more = LARGE[name]
    rows = {"power": "60 %", "speed": "900 mm/s", "direction": "two-way"}
    recipe = {
        "recipe": 1,
        "machine": more.get("machine", GALVO),
        "part": {"outline": "#edge"},
        "settings": {
            "engrave": {**rows, "pitch": more.get("pitch", "0.1 mm")},
            "score": {"power": "25 %", "speed": "300 mm/s"},
        },
        "passes": more.get("passes", []),
    }
    result = convert(recipe_from_mapping(recipe), drawing(), f"{name}.svg")
    return result, predict_both(result)


def cells_inside_runs(prediction: Prediction, number: int) -> np.ndarray:
    """Some cells of the index that lie in a run: x, y, index."""
    timed_of = {visit.step: visit.timed for visit in prediction.schedule.visits}
    found = []
    for image in prediction.heat.images:
        timed = timed_of[image.step]
        if timed.rounds:
            one = timed.rounds[image.round]
            runs, places = one.runs, one.y[one.runs.row]
        else:
            runs = timed.runs
            places = timed.spans.v[np.searchsorted(timed.spans.row, runs.row)]
        x, y = image.points
        for row in range(len(image.v)):
            lit, mine = image.lit[row], np.abs(places - image.v[row]) < 1e-9
            here = np.stack([x[row], y[row], image.index[row]], axis=1)[lit]
            u, _ = RowFrame(image.angle).to_uv(here[:, 0], here[:, 1])
            inside = (runs.start[mine, None] <= u) & (u <= runs.end[mine, None])
            found.append(here[inside.any(axis=0)])
    every = np.concatenate(found)
    return every[np.random.default_rng(23).permutation(len(every))[:number]]


PEAKS = """([number, cells]) => cells.map(([x, y]) => {
  const S = job.sides[number], near = visitsAt(S, x, y, 0.45).map((one) => S.visits[one.visit]);
  const others = near.some((one) => near.some((other) => one.angle !== other.angle
    || (one.kind === 'rows' && one.name === other.name && one.set !== other.set)));
  return others ? null : peakAt(S, job.M, x, y).index;
})"""
"""The hottest of places; none where rows of another shape or another angle pass nearby: each image
of the index knows its own visits, and the page shows the largest of all."""


def peaks_off(page, number: int, cells: np.ndarray) -> np.ndarray:
    """By which share the page's hottest of each cell is off the index, where rows are of one."""
    found = page.evaluate(PEAKS, [number, cells[:, :2].tolist()])
    pairs = [(own, index) for own, (_, _, index) in zip(found, cells, strict=True) if own]
    return np.abs(np.array([own / index - 1 for own, index in pairs]))


def lines(page, names: list[str]) -> Iterator[str]:
    """A row of the table for each job."""
    for name in names:
        job = job_of(name)
        size = sum(map(len, packed(playback_of(*job))))
        load_job(page, job)
        sides = [
            quantiles(
                peaks_off(page, n, cells_inside_runs(one, 3 * CELLS))[:CELLS], (0.5, 0.95, 1.0)
            )
            for n, one in enumerate(job[1])
        ]
        glow = np.concatenate([page.evaluate(GLOW, n) for n in range(2)])
        cells = [name, *sides, quantiles(glow, (0.5, 0.95)), f"{size / 1000:.0f} kB"]
        yield f"| {' | '.join(cells)} |"


def quantiles(off: np.ndarray, shares: tuple[float, ...]) -> str:
    """Shares in per cent, such as "0.21, 0.52, 1.10 %"."""
    return ", ".join(f"{100 * float(np.quantile(off, share)):.2f}" for share in shares) + " %"


def written(text: str, rows: list[str]) -> str:
    """The page with the rows of its table anew."""
    before, head, after = text.partition(f"{HEAD}\n")
    rule, *old = after.split("\n")
    rest = list(dropwhile(lambda line: line.startswith("|"), old))
    return before + head + "\n".join([rule, *rows, *rest])


def main(names: list[str], tell: Callable[[str], None] = print) -> None:
    """Work out the jobs that are named, or all and the page."""
    found = []
    with tempfile.TemporaryDirectory() as folder, opened_scripts(Path(folder)) as page:
        for row in lines(page, names or [*FIXTURES, *LARGE]):
            tell(row)
            found.append(row)
    if not names:
        PAGE.write_text(written(PAGE.read_text("utf-8"), found), "utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
