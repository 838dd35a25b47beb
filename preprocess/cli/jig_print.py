"""``evenmark jig --print``: a tray to print, and its plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.cli import files
from preprocess.errors import wrong
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.cli.jobs import Job
    from preprocess.pipeline import Conversion
    from preprocess.tray.tray import PrintedTray

_LEAST_LAYER, _MOST = 0.04, 200.0
"""mm: the thinnest layer of a printer; the deepest pocket, and the most of the other measures."""


def tray_to_print(
    job: Job, result: Conversion, target: str, measures: dict[str, float]
) -> tuple[PrintedTray, str]:
    """The tray of a job, and the file of the plan beside it.

    Raises:
        UserError: the job stops, its part has no height, or a measure is no printer's.
    """
    if target == files.STREAM:
        raise wrong("a tray has a plan beside it", "name a file with --print")
    if measures["layer"] < _LEAST_LAYER or max(measures.values()) > _MOST:
        found = "a measure of the tray is none that a printer has"
        raise wrong(
            found, f"layers are {_LEAST_LAYER} mm or more, all else {digits(_MOST)} mm at most"
        )
    plan = str(Path(target).with_suffix(".plan.svg"))
    files.check_outputs([target, plan], job.inputs)
    from preprocess.recipe.text_rules import seats_on_tray
    from preprocess.tray.measures import TrayMeasures
    from preprocess.tray.tray import make_tray

    with files.refusal_as_error(job.named):
        tray = make_tray(
            result.after,
            result.bench,
            job.loaded.models.solids,
            TrayMeasures(**measures),
            title=job.drawing.title,
            seats=seats_on_tray(job.loaded.steps),
        )
    return tray, plan
