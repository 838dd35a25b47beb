"""Shared by the tests of the reader: drawings in a few words, read without a recipe."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.geometry.overlay.booleans import union
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import Reading, read

if TYPE_CHECKING:
    import shapely

FIXTURES = Path(__file__).parents[2] / "fixtures" / "read"
NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def sheet(body: str, attributes: str = "") -> bytes:
    """A page of 100 mm whose user units are millimetres."""
    size = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
    return f"<svg {NS} {size} {attributes}>{body}</svg>".encode()


def read_sheet(body: str, **wanted) -> Reading:
    return read(sheet(body), "fern.svg", ReadingOptions(**wanted))


def painted(reading: Reading) -> shapely.MultiPolygon:
    """The area that all shapes paint together."""
    return union(
        shape.geometry
        if shape.is_area
        else outline_stroke(shape.geometry, shape.stroke, tolerance=0.001)
        for shape in reading.artwork.shapes
    )


def codes(reading: Reading) -> set[str]:
    return {finding.code for finding in reading.findings} - {"no-layers", "size-in-pixels"}
