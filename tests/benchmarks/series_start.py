"""Processor time of a series of labels before its first label is begun, by the number of names."""

from __future__ import annotations

import os
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.cli.files import load_recipe_alone
from preprocess.series.runner import Series, run_series
from preprocess.series.tasks import Products
from preprocess.series.values import label_designs, read_values

if TYPE_CHECKING:
    from collections.abc import Iterator

RECIPE = """recipe: 1
settings: {engrave: {power: 50 %, speed: 900 mm/s, pitch: 0.1 mm}}
passes: [merge]
text: [{element: "#name", column: plant}]
names_from: file
"""
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">'
    '<text id="name" x="2" y="8">plant</text></svg>'
)
SIZES = (500, 5000)


class FirstLabelError(Exception):
    """The first label has come to a worker."""


def begun(tasks: object) -> Iterator[tuple[int, object]]:
    """A pool that stops at its first task."""
    next(iter(tasks))  # type: ignore[call-overload]
    raise FirstLabelError
    yield


def seconds_to_first_label(many: int) -> float:
    """Processor time from the recipe's text to the first task."""
    rows = "".join(f"fern-{number:05d},fern {number}\n" for number in range(many))
    start = time.process_time()
    loaded = load_recipe_alone("label.yaml")
    table = read_values(f"file,plant\n{rows}", "values.csv")
    labels = label_designs(loaded.recipe, table, Path("l.svg"))
    wants = Products(report=True, sheet=True)
    series = Series(loaded=loaded, designs=labels, wants=wants, folder=Path("out"))
    try:
        list(run_series(series, begun))  # type: ignore[arg-type]
    except FirstLabelError:
        return time.process_time() - start
    raise AssertionError


def main() -> None:
    """Print a line for each size."""
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        Path("label.yaml").write_text(RECIPE, "utf-8")
        Path("l.svg").write_text(DRAWING, "utf-8")
        seconds_to_first_label(1)
        for many in SIZES:
            print(f"{many} names: {seconds_to_first_label(many):.2f} s")
        os.chdir("/")


if __name__ == "__main__":
    main()
