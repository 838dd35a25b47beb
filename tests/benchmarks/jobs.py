"""Recipes and folders for whole runs."""

from __future__ import annotations

from pathlib import Path

FERN = Path(__file__).parents[2] / "fixtures" / "jobs" / "fern"

RECIPE = """\
recipe: 1
design: design.svg
machine: bench.yaml
filament: moss-petg.yaml
part: {outline: "#edge", thickness: 3 mm}
settings:
  engrave: {power: 67 %, speed: 900 mm/s, pitch: 0.1 mm, direction: one-way, angle: 0 deg}
  score: {power: 30 %, speed: 250 mm/s}
passes:
  - strokes-to-areas: {wider_than: 0.3 mm}
  - merge
  - inset-tips: {narrower_than: 0.4 mm, by: 0.05 mm}
  - tag-power: {by: width, levels: 3, powers: [94 %, 100 %, 100 %]}
  - equalize-width: {clearance: 2 mm, bar: 0.6 mm}
"""
"""All that the fern job does, for a drawing whose part is #edge."""


def lay_out(folder: Path, design: bytes, name: str = "design.svg") -> Path:
    """Put a drawing, the recipe and what it names into a folder; gives back the recipe."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(design)
    for file in ("bench.yaml", "moss-petg.yaml"):
        text = (FERN / file).read_text("utf-8").replace("max_points: 200000", "max_points: 9000000")
        text = text.replace("field: [130 mm, 90 mm]", "field: [400 mm, 400 mm]")
        (folder / file).write_text(text, "utf-8")
    recipe = folder / "recipe.yaml"
    recipe.write_text(RECIPE)
    return recipe
