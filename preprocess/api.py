"""Promised names for authors of passes, scripts and notebooks, in one import.

`API_VERSION` counts what is promised: while it stays the same, each name in `__all__` keeps its
meaning, its parameters and its units. Names may be added. Everything else in `preprocess` may
change with any release. docs/use/library.md and docs/use/plugins.md show them at work.

Lengths are mm, angles degrees, speeds mm/s, times s, shares 1.0 for 100 %; x points right, y down.
Values are frozen; `dataclasses.replace` makes a changed copy. Names that need the geometry
libraries load them on first use.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from preprocess.engine.contract import API_VERSION, Contract, Outcome, Params
from preprocess.engine.facts import BARRED, FILLED, MERGED, POWERED, SEPARATE, ZONED, Fact
from preprocess.engine.ledger import Amount, Change, amount_of, totals
from preprocess.engine.selection import selection_test
from preprocess.errors import Complaint, Place, Refusal, UserError
from preprocess.findings import Finding, Severity, note, stop, warn
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape, Stroke
from preprocess.model.artwork.source import Selection, Source
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.model.declared import Doc
from preprocess.units import Angle, Length, Pitch, Power, Share, Speed, Time

if TYPE_CHECKING:
    from preprocess.geometry.offset.offset import grow_area, shrink_area
    from preprocess.geometry.offset.opening import open_area
    from preprocess.geometry.offset.width_zones import width_range
    from preprocess.geometry.overlay.booleans import (
        cut_away,
        cut_lines,
        difference,
        intersection,
        union,
    )
    from preprocess.geometry.overlay.components import components
    from preprocess.marking.prediction import Prediction, predict
    from preprocess.pipeline import Conversion, convert
    from preprocess.recipe.load import LoadedRecipe, load_recipe, recipe_from_mapping
    from preprocess.testing import check_pass, read_artwork

__all__ = [
    "API_VERSION",
    "BARRED",
    "FILLED",
    "MERGED",
    "POWERED",
    "SEPARATE",
    "ZONED",
    "Amount",
    "Angle",
    "Artwork",
    "Bench",
    "Change",
    "Complaint",
    "Contract",
    "Conversion",
    "Direction",
    "Doc",
    "Fact",
    "Filament",
    "Finding",
    "Layer",
    "Length",
    "LoadedRecipe",
    "Machine",
    "Operation",
    "Outcome",
    "Page",
    "Params",
    "Part",
    "Pitch",
    "Place",
    "Power",
    "Prediction",
    "Refusal",
    "Selection",
    "Settings",
    "Severity",
    "Shape",
    "Share",
    "Source",
    "Speed",
    "Stroke",
    "Time",
    "UserError",
    "amount_of",
    "check_pass",
    "components",
    "convert",
    "cut_away",
    "cut_lines",
    "difference",
    "grow_area",
    "intersection",
    "load_recipe",
    "note",
    "open_area",
    "predict",
    "read_artwork",
    "recipe_from_mapping",
    "selection_test",
    "shrink_area",
    "stop",
    "totals",
    "union",
    "warn",
    "width_range",
]

_ON_USE = {
    "Conversion": "preprocess.pipeline",
    "LoadedRecipe": "preprocess.recipe.load",
    "Prediction": "preprocess.marking.prediction",
    "check_pass": "preprocess.testing",
    "components": "preprocess.geometry.overlay.components",
    "convert": "preprocess.pipeline",
    "cut_away": "preprocess.geometry.overlay.booleans",
    "cut_lines": "preprocess.geometry.overlay.booleans",
    "difference": "preprocess.geometry.overlay.booleans",
    "grow_area": "preprocess.geometry.offset.offset",
    "intersection": "preprocess.geometry.overlay.booleans",
    "load_recipe": "preprocess.recipe.load",
    "open_area": "preprocess.geometry.offset.opening",
    "predict": "preprocess.marking.prediction",
    "read_artwork": "preprocess.testing",
    "recipe_from_mapping": "preprocess.recipe.load",
    "shrink_area": "preprocess.geometry.offset.offset",
    "union": "preprocess.geometry.overlay.booleans",
    "width_range": "preprocess.geometry.offset.width_zones",
}
"""The modules of the names that are imported on first use, as under TYPE_CHECKING above."""

if not TYPE_CHECKING:  # else a misspelt name would pass for one of these

    def __getattr__(name: str) -> Any:
        if name not in _ON_USE:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        globals()[name] = value = getattr(import_module(_ON_USE[name]), name)
        return value


def __dir__() -> list[str]:
    return __all__
