"""Ways to mark the fern side by side: the table of the README.

``python -m tests.fern_ways`` prints it; a test compares.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from preprocess.findings import Severity
from preprocess.marking.evenness.objective import objective_of_artwork
from preprocess.marking.evenness.sentence import signed_percent
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe

FERN = Path(__file__).parents[1] / "fixtures" / "jobs" / "fern"
HEAD = "| way | worst place | coldest | s | colours | card |\n|---|---|---|---|---|---|"


class Way(NamedTuple):
    """A row of the table: a recipe of the job, with some of its text exchanged."""

    name: str
    recipe: str
    exchanged: dict[str, str]


PLAIN = {"  - interleave ": "  # ", "  - solve-power ": "  # "}
ONE_WAY = {"two-way": "one-way", "power: 73 %": "power: 67 %"}
ZONES = {
    "  - interleave ": "  - tag-power: {by: heat, levels: 3}\n  - solve-power # ",
    "  - solve-power  ": "  # ",
}
WAYS = (
    Way("one sweep", "fern.yaml", {**PLAIN, **ONE_WAY}),
    Way("three zones by heat", "fern.yaml", {**ONE_WAY, **ZONES}),
    Way("bars: fern-with-bars.yaml", "fern-with-bars.yaml", {}),
    Way("rounds, one colour", "fern.yaml", {"- interleave ": "- interleave: {colours: 1} "}),
    Way("rounds, two colours", "fern.yaml", {"- interleave ": "- interleave: {colours: 2} "}),
    Way("rounds, four colours: fern.yaml", "fern.yaml", {}),
)
"""One-way rows as the filament was graded at 67 %; rounds at the power that brings them there."""


def row(way: Way) -> str:
    """One row, worked out."""
    text = (FERN / way.recipe).read_text("utf-8")
    for old, new in way.exchanged.items():
        assert old in text, old
        text = text.replace(old, new)
    loaded = load_recipe(FERN / way.recipe, text)
    result = convert(loaded, loaded.design.read_bytes(), loaded.design.name)
    assert all(finding.severity is not Severity.STOP for finding in result.findings)
    found = objective_of_artwork(result.after, result.bench)
    fronds = [shape for shape in result.after.shapes_of("frond") if shape.is_engraved_area]
    colours = len({shape.level for shape in fronds})
    card = "yes" if any(shape.bars for shape in fronds) else "no"
    hot, cold = signed_percent(found.likely.hot), signed_percent(found.likely.cold)
    return f"| {way.name} | {hot} | {cold} | {found.time:.0f} | {colours} | {card} |"


def table() -> str:
    """The whole table."""
    return "\n".join([HEAD, *map(row, WAYS)])


if __name__ == "__main__":
    print(table())
