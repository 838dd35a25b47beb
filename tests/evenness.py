"""How even each way marks eleven motifs, judged by the second simulator on written files.

``python -m tests.evenness`` works out the rows of docs/project/evenness.md anew and writes them (an
hour or so). The words around them are written by hand.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from tests.second_simulator.arts import ARTS
from tests.second_simulator.heat import Plastic, peaks
from tests.second_simulator.judge import Verdict, verdict
from tests.second_simulator.written import Job, written

PAGE = Path(__file__).parents[1] / "docs" / "project" / "evenness.md"
SPREADS = 0.3, 0.15, 0.6
"""mm: the likely one, and both ends of what it may be where nothing was graded."""

ROWS = "[merge, {{interleave: {{form: own-rows, colours: {}}}}}, solve-power]"
WAYS: dict[str, tuple[str, str]] = {
    "as drawn, one-way": ("[merge]", "one-way"),
    "as drawn, two-way": ("[merge]", "two-way"),
    "3 zones by heat, solved": ("[merge, {tag-power: {by: heat}}, solve-power]", "one-way"),
    "own rows, 1 colour": (ROWS.format(1), "two-way"),
    "own rows, 2 colours": (ROWS.format(2), "two-way"),
    "own rows, k colours": (ROWS.format(4), "two-way"),
    "strips, k colours": ("[merge, {interleave: {colours: 4}}, solve-power]", "two-way"),
}
"""Passes and direction of each way; k is four at a pitch of 0.1 mm."""

BEYOND = {"own rows, k colours": ((0.1, 1200.0), (0.1, 150.0), (0.15, 400.0), (0.05, 400.0))}
"""Other pitches (mm) and speeds (mm/s) that a way is judged at, by its worst motifs."""

ACROSS = [
    ("own rows, 1 colour", 0.1, 400.0),
    ("own rows, 2 colours", 0.1, 400.0),
    ("own rows, k colours", 0.1, 400.0),
    ("own rows, k colours", 0.1, 1200.0),
    ("own rows, k colours", 0.05, 400.0),
]
"""Ways, pitches and speeds that the stalk is judged at with its rows across it, as `advise` has."""


@dataclass(frozen=True, kw_only=True)
class Figures:
    """A verdict at the likely spread, the worst over all, and seconds."""

    hot: float
    cold: float
    beyond: float
    seam: float
    worst_hot: float
    worst_cold: float
    seconds: float


def judged(
    motif: str, way: str, pitch: float = 0.1, speed: float = 400.0, angle: float = 0.0
) -> Figures:
    """Write a motif in one way, and let the second simulator judge the file."""
    passes, direction = WAYS[way]
    job = Job(
        motif=motif,
        passes=passes,
        direction=direction,
        pitch=pitch,
        speed=speed,
        groups="each-path",
        angle=angle,
    )
    _, light = written(job)
    cells = peaks(light, Plastic(), SPREADS)
    found = [verdict(light, cells, number) for number in range(len(SPREADS))]
    return figures_of(found, light.lasts)


def figures_of(found: list[Verdict], seconds: float) -> Figures:
    """Figures of verdicts at all spreads, of which the first is the likely one."""
    return Figures(
        hot=found[0].hot,
        cold=found[0].cold,
        beyond=found[0].beyond,
        seam=found[0].seam,
        worst_hot=max(one.hot for one in found),
        worst_cold=min(one.cold for one in found),
        seconds=float(seconds),
    )


def cells_of(found: Figures) -> list[str]:
    """Figures as the page shows them."""
    return [
        f"{found.hot:.3f}",
        f"{found.cold:.3f}",
        f"{100 * found.beyond:.1f}",
        f"{100 * found.seam:.1f}",
        f"{found.worst_hot:.2f}",
        f"{found.worst_cold:.2f}",
        f"{found.seconds:.1f}",
    ]


def worst(found: list[Figures]) -> Figures:
    """Each figure of several motifs at its worst; seconds of all together."""
    return Figures(
        hot=max(one.hot for one in found),
        cold=min(one.cold for one in found),
        beyond=max(one.beyond for one in found),
        seam=max(one.seam for one in found),
        worst_hot=max(one.worst_hot for one in found),
        worst_cold=min(one.worst_cold for one in found),
        seconds=sum(one.seconds for one in found),
    )


def line(*cells: str) -> str:
    """A row of a table."""
    return f"| {' | '.join(cells)} |"


def across(figures: dict[tuple[str, float, float], Figures]) -> str:
    """The stalk with its rows across it."""
    return "\n".join(
        line(way, f"{pitch:g}", f"{speed:g}", *cells_of(figures[way, pitch, speed]))
        for way, pitch, speed in ACROSS
    )


def tables(found: dict[tuple[str, str, float, float], Figures]) -> tuple[str, str, str]:
    """Worst of all motifs by way; the same at other pitches and speeds; every motif and way."""
    usual = {(m, w): f for (m, w, pitch, speed), f in found.items() if (pitch, speed) == (0.1, 400)}
    by_way = [line(way, *cells_of(worst([usual[m, way] for m in ARTS]))) for way in WAYS]
    beyond = [
        line(way, f"{pitch:g}", f"{speed:g}", *cells_of(worst(some)))
        for way, settings in BEYOND.items()
        for pitch, speed in settings
        for some in [[f for k, f in found.items() if k[1:] == (way, pitch, speed)]]
        if len(some) == len(ARTS)
    ]
    each = [line(m, way, *cells_of(usual[m, way])) for m in ARTS for way in WAYS]
    return "\n".join(by_way), "\n".join(beyond), "\n".join(each)


def held() -> dict[tuple[str, str], list[float]]:
    """Figures of each motif and way on the page."""
    rows = [text.strip("| ").split(" | ") for text in _text().splitlines() if text[:1] == "|"]
    return {(m, w): [float(x) for x in rest] for m, w, *rest in rows if m in ARTS and w in WAYS}


def _text() -> str:
    return PAGE.read_text("utf-8")


def write(tables: dict[str, str]) -> None:
    """Put tables into the page, each below the comment with its name."""
    text = _text()
    for name, rows in tables.items():
        pattern = rf"(<!-- {name} -->\n\n[^\n]+\n[^\n]+\n)(?:\|[^\n]*\n)*"
        text = re.sub(pattern, lambda m, rows=rows: f"{m[1]}{rows}\n" if rows else m[1], text)
    PAGE.write_text(text, "utf-8")


def turned() -> dict[str, str]:
    """The table of the stalk with its rows across it."""
    return {"across": across({how: judged("stalk", *how, angle=90.0) for how in ACROSS})}


def main() -> None:
    """Work out all rows."""
    jobs = [(m, w, 0.1, 400.0) for w in WAYS for m in ARTS]
    jobs += [(m, w, *how) for w, settings in BEYOND.items() for how in settings for m in ARTS]
    made = tables({job: judged(*job) for job in jobs})
    write(dict(zip(("ways", "settings", "motifs"), made, strict=True)) | turned())


if __name__ == "__main__":
    main()
