"""Job sheets of all jobs, made once for all tests that look at them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from preprocess.marking.heat.effort import Effort
from preprocess.marking.prediction import predict
from preprocess.pipeline import Conversion, convert, make_sheet
from preprocess.recipe.load import LoadedRecipe, load_recipe

JOBS = Path(__file__).parents[3] / "fixtures" / "jobs"
NAMES = ("fern/fern-with-bars", "moth/moth-apart", "moth/moth-together")
"""Swept one way, the first two; the last in rounds of strips, swept two ways."""

IN_BROWSERS = NAMES[:2]
"""Those that are laid out by browsers too, which takes long."""


@dataclass(frozen=True)
class Made:
    """A job with its sheet."""

    result: Conversion
    loaded: LoadedRecipe
    predicted: Any
    html: bytes


@cache
def made(name: str) -> Made:
    """The sheet of a job, as the command writes it but for coarser heat, which is quicker."""
    loaded = load_recipe(JOBS / f"{name}.yaml")
    result = convert(loaded, loaded.design.read_bytes(), loaded.design.name)
    both, quick = (result.drawn, result.after), Effort.PREVIEW
    predicted = tuple(predict(one, result.bench, effort=quick, surely=False) for one in both)
    html = make_sheet(result, loaded, loaded.design.name, predicted)
    return Made(result=result, loaded=loaded, predicted=predicted, html=html)
