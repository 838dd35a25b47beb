"""A nursery's bed labels: small drawings that differ in their leaf, and a recipe for all."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

RECIPE = """\
recipe: 1
machine: bench.yaml
settings:
  engrave: {power: 50 %, speed: 500 mm/s, pitch: 0.1 mm}
passes:
  - merge
"""
BENCH = "machine: 1\nname: bench\nfield: [90 mm, 60 mm]\nturnaround: 1 ms\nfly_back: 2000 mm/s\n"


def leaf(length: float) -> str:
    """A drawing of one leaf, as long as said (mm)."""
    middle, end = 5 + length / 2, 5 + length
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">'
        f'<path id="leaf" d="M5 10 Q{middle} 2 {end} 10 Q{middle} 18 5 10z"/>'
        "</svg>"
    )


def bed(folder: Path, many: int = 4) -> Path:
    """A folder with recipe, machine, drawings, and an empty folder `out`."""
    (folder / "label.yaml").write_text(RECIPE, "utf-8")
    (folder / "bench.yaml").write_text(BENCH, "utf-8")
    (folder / "drawings").mkdir()
    (folder / "out").mkdir()
    for number in range(many):
        (folder / "drawings" / f"leaf-{number:02}.svg").write_text(leaf(8.0 + number), "utf-8")
    return folder


def tree(folder: Path) -> dict[str, bytes]:
    """Names and contents of the files in a folder."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
