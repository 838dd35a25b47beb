"""The messages of a real run of a small label, made in this process."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from preprocess.cli.watch import finding_lines, open_watched
from preprocess.watch.opened import OpenedFiles
from preprocess.watch.stages import WatchTask, run_stages

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
  <path id="blade" d="M3 10 Q10 3 24 9 Q12 14 3 10 Z"/>
</svg>
"""
RECIPE = """recipe: 1
design: label.svg
filament: {name: moss, polymer: PETG}
part: {outline: [30 mm, 20 mm]}
settings: {engrave: {power: 30 %, speed: 900 mm/s, pitch: 0.4 mm}}
passes: [merge]
"""


def messages_of_a_run(recipe: str = RECIPE, *, heat: bool = True, named: str = "label.yaml"):
    """All that a run in the current folder tells, in this process."""
    Path("label.yaml").write_text(recipe, "utf-8")
    if not Path("label.svg").exists():
        Path("label.svg").write_text(DRAWING, "utf-8")
    open_job = partial(open_watched, named, None, (), no_heat=not heat)
    return list(run_stages(WatchTask(open_job, finding_lines, heat), OpenedFiles()))
