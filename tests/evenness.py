"""How even remedies make five kinds of artwork, simulated: the tables of docs/project/evenness.md.

``python -m tests.evenness`` names each row that is stale; ``--write`` makes the tables anew
(minutes). The words around them are written by hand.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import shapely
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import translate

from preprocess.errors import Refusal
from preprocess.marking.heat.evenness import evenness_of
from preprocess.marking.heat.index import heat_index
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine, PowerSteps
from preprocess.passes.equalize_width.bar_wish import Until
from preprocess.passes.equalize_width.equalize_width import EqualizeWidth
from preprocess.passes.solve_power.solve_power import SolvePower
from preprocess.passes.split import Split
from preprocess.passes.tag_power.tag_power import PowerBy, TagPower
from tests.marking.drawn import blade

PAGE = Path(__file__).parents[1] / "docs" / "project" / "evenness.md"
MACHINE = Machine(
    name="bench galvo",
    turnaround=1.2e-3,
    fly_back=2500.0,
    spot=0.08,
    layer_pause=0.1,
    power=PowerSteps(from_=1e-4, to=1.0, step=1e-4),
)
SHARP = Bench(machine=MACHINE)
DIFFUSE = Bench(
    machine=replace(MACHINE, spot=0.4), filament=Filament(name="pale", optical_depth=0.1)
)
TWO_WAY = Direction.TWO_WAY


def _letters() -> MultiPolygon:
    """FERN in strokes of 0.8 mm, 6 mm high."""
    f = [box(0, 0, 0.8, 6), box(0, 0, 3.4, 0.8), box(0, 2.6, 2.8, 3.4)]
    e = [*f, box(0, 5.2, 3.4, 6)]
    r = [*f, box(2.6, 0, 3.4, 3.4), Polygon([(1.2, 3.4), (2.2, 3.4), (3.6, 6), (2.6, 6)])]
    n = [
        box(0, 0, 0.8, 6),
        box(2.8, 0, 3.6, 6),
        Polygon([(0.8, 0), (2.8, 4.4), (2.8, 6), (0.8, 1.6)]),
    ]
    placed = [translate(shapely.union_all(x), 5.0 * k) for k, x in enumerate((f, e, r, n))]
    return shapely.union_all(placed)


def _discs() -> MultiPolygon:
    """24 discs of 4 mm in four staggered rows."""
    centres = [(8 * i + 2 + 4 * (j % 2), 8 * j + 2) for j in range(4) for i in range(6)]
    return MultiPolygon([Point(centre).buffer(2, 32) for centre in centres])


TRIANGLE = "triangle, 36 × 50 mm"
ARTS = {
    TRIANGLE: Polygon([(0, 0), (36, 0), (18, 50)]),
    "blade, 32 × 14 mm, at 75°": blade(32, 14, 75),
    "comb, 24 mm, teeth of 1 mm": shapely.union_all(
        [box(0, 0, 24, 6), *(box(23 - 22 * k / 5, 6, 24 - 22 * k / 5, 9 + 2 * k) for k in range(6))]
    ),
    "dots, 6 × 4 of 4 mm": _discs(),
    "ring, 16 mm, 2 mm wide": Point(8, 8).buffer(8, 64).difference(Point(8, 8).buffer(6, 64)),
    "lettering, 6 mm high": _letters(),
}
"""In the nursery's manner, but for the triangle, a body to compare calculations on."""


def part_of(art: Polygon | MultiPolygon, *, own: bool) -> Polygon:
    """The art's own shape without its holes, or a label 3 mm wider than it on all sides."""
    if not own:
        left, top, right, bottom = art.bounds
        return box(left - 3, top - 3, right + 3, bottom + 3)
    return art.convex_hull if len(shapely.get_parts(art)) > 1 else Polygon(art.exterior)


def drawn(name: str, *, own: bool, direction: Direction = Direction.ONE_WAY) -> Artwork:
    """One merged area on a part."""
    area = MultiPolygon(list(shapely.get_parts(ARTS[name])))
    part = part_of(ARTS[name], own=own)
    settings = Settings(
        power=0.3, speed=300.0, pitch=0.1, direction=direction, angle=0.0, repeats=1
    )
    left, top, right, bottom = part.bounds
    return Artwork(
        page=Page(left=left - 1, top=top - 1, width=right - left + 2, height=bottom - top + 2),
        shapes=(
            Shape(
                id="art",
                layer="fronds",
                operation=Operation.ENGRAVE,
                geometry=area,
                sources=(Source(id="art", geometry=area),),
            ),
        ),
        layers=(
            Layer(
                name="fronds", operation=Operation.ENGRAVE, settings={Operation.ENGRAVE: settings}
            ),
        ),
        parts=(MultiPolygon([part]),),
    )


BARS = {"clearance": 1.0, "bar": 0.6}
IDEAL = {"clearance": 0.0, "bar": 0.01, "to_art": 0.0}
"""Bars that take time and no room, as in the earlier calculation."""

Remedy = Callable[[Artwork, Bench], Artwork]


def levels(count: int) -> Remedy:
    """Zones by heat, and their powers solved."""

    def remedy(art: Artwork, bench: Bench) -> Artwork:
        cut = TagPower(levels=count, by=PowerBy.HEAT)(art, bench).artwork
        return SolvePower()(cut, bench).artwork

    return remedy


def bars(**given: object) -> Remedy:
    """Bars with these parameters."""
    return lambda art, bench: EqualizeWidth(**given)(art, bench).artwork  # type: ignore[arg-type]


def both(one: Remedy, count: int) -> Remedy:
    """Zones by the span of rows, then bars, and powers solved between the bars."""

    def remedy(art: Artwork, bench: Bench) -> Artwork:
        cut = TagPower(levels=count, by=PowerBy.ROW_SPAN)(art, bench).artwork
        return SolvePower()(one(cut, bench), bench).artwork

    return remedy


def apart(art: Artwork, bench: Bench) -> Artwork:
    """Each connected area by itself."""
    return Split()(art, bench).artwork


@dataclass(frozen=True)
class Run:
    """One row of a table."""

    art: str
    remedy: str
    do: Remedy
    own: bool = True
    bench: Bench = SHARP
    direction: Direction = Direction.ONE_WAY
    study: str = ""

    @property
    def part(self) -> str:
        """What the art lies on."""
        return "own shape" if self.own else "label"

    def cells(self) -> list[str]:
        """What was simulated, as text: largest over median and variation of rows, and so on."""
        try:
            made = self.do(drawn(self.art, own=self.own, direction=self.direction), self.bench)
        except Refusal:
            return ["out of reach", "", "", "", "", ""]
        ids = {o.id for o in output_layers(made)}
        hot = heat_index(made, self.bench)
        even = evenness_of(hot, [ids])
        assert even is not None
        time = schedule_of(
            plan_of(made, self.bench.machine_or_default), self.bench.machine_or_default
        ).total
        area = sum(shape.bars.area for shape in made.shapes if shape.bars is not None)
        return [
            f"{even.rows:.3f}",
            f"{even.rows_cv:.3f}",
            f"{even.places:.2f}",
            f"{hot.median:.2f}",
            f"{time:.1f}",
            f"{area:.0f}",
        ]


def as_drawn(art: Artwork, _: Bench) -> Artwork:
    """No remedy."""
    return art


TEN = Until(evenness=0.1)


@cache
def studied() -> tuple[Run, ...]:
    """The triangle, as an earlier calculation of ours by finite volumes had it."""
    one = [
        Run(TRIANGLE, "as drawn", as_drawn, study="1.279 / .052"),
        *(
            Run(TRIANGLE, f"{n} levels", levels(n), study=text)
            for n, text in (
                (2, "1.104 / .030"),
                (3, "1.063 / .026"),
                (4, "1.049 / .021"),
                (6, "1.030 / .017"),
            )
        ),
        *(
            Run(TRIANGLE, f"rows at least {s} mm", bars(span=float(s), **IDEAL), study=text)
            for s, text in ((4, "1.058 / .030"), (9, "1.028 / .023"), (18, "1.001 / .012"))
        ),
        Run(TRIANGLE, "two-way", as_drawn, direction=TWO_WAY, study="1.267 / .054"),
    ]
    pale = [
        Run(TRIANGLE, "pale plastic, as drawn", as_drawn, bench=DIFFUSE, study="1.458 / .121"),
        Run(TRIANGLE, "pale, 3 levels", levels(3), bench=DIFFUSE, study="1.116 / .047"),
        Run(
            TRIANGLE,
            "pale, rows at least 9 mm",
            bars(span=9.0, **IDEAL),
            bench=DIFFUSE,
            study="1.108 / .076",
        ),
    ]
    return (*one, *pale)


@cache
def compared() -> tuple[Run, ...]:
    """Every kind of art on both parts, under each remedy."""
    found = []
    for art in list(ARTS)[1:]:
        for own in (True, False):
            found += [
                Run(art, "as drawn", as_drawn, own),
                Run(art, "two-way instead", as_drawn, own, direction=TWO_WAY),
                *([Run(art, "each dot apart", apart, own)] if art.startswith("dots") else []),
                Run(art, "3 levels by heat, solved", levels(3), own),
                Run(art, "bars until 10 %", bars(until=TEN, **BARS), own),
                Run(art, "bars beside all rows", bars(**BARS), own),
                Run(art, "bars beside all rows, two-way", bars(**BARS), own, direction=TWO_WAY),
                Run(
                    art,
                    "both, 3 levels by row span",
                    both(bars(**BARS), 3),
                    own,
                ),
            ]
    return tuple(found)


def line_of(run: Run, *, with_study: bool) -> str:
    """A row of a table in Markdown."""
    if with_study:
        rows, cv, places, _, time, _ = run.cells()
        return (
            f"| {run.remedy} | {run.study} | {rows} / {cv.removeprefix('0')} | {places} | {time} |"
        )
    return "| " + " | ".join([run.art, run.part, run.remedy, *run.cells()]) + " |"


def key_of(line: str, *, with_study: bool) -> tuple[str, ...]:
    """What tells a row from the others."""
    return tuple(cell.strip() for cell in line.split("|")[1 : 2 if with_study else 4])


def held() -> dict[tuple[str, ...], str]:
    """The rows of the page, by their keys; study rows have one cell as their key."""
    lines = [line for line in PAGE.read_text("utf-8").splitlines() if line.startswith("| ")]
    found = {}
    for line in lines:
        cells = [cell.strip() for cell in line.split("|")[1:-1]]
        found[tuple(cells[:1]) if len(cells) == 5 else tuple(cells[:3])] = line
    return found


def expected(run: Run) -> tuple[tuple[str, ...], str]:
    """Key and line of a run as the page should have it."""
    with_study = run in studied()
    line = line_of(run, with_study=with_study)
    return key_of(line, with_study=with_study), line


def main(arguments: list[str]) -> int:
    """Check the page, or put fresh tables between its marks."""
    text = PAGE.read_text("utf-8")
    for mark, runs, with_study in (("study", studied(), True), ("art", compared(), False)):
        lines = []
        for run in runs:
            lines.append(line_of(run, with_study=with_study))
            print(lines[-1], file=sys.stderr)
        pattern = rf"(<!-- {mark} -->\n\n(?:\|.*\n){{2}})(?:\|.*\n)*"
        text = re.sub(pattern, lambda m, new=lines: m[1] + "\n".join(new) + "\n", text)
    if arguments == ["--write"]:
        PAGE.write_text(text, "utf-8")
        return 0
    return int(text != PAGE.read_text("utf-8"))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
