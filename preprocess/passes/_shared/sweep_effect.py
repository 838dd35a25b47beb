"""Effect of merged or separate paths on the sweep of the machine's software."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import Finding, note
from preprocess.model.bench.machine import RasterGroups

if TYPE_CHECKING:
    from preprocess.model.bench.bench import Bench


def sweep_note(name: str, bench: Bench) -> tuple[Finding, ...]:
    """A note where the software sweeps each colour as a whole, so that paths change nothing."""
    machine = bench.machine_or_default
    if machine.raster_groups is not RasterGroups.EACH_COLOUR:
        return ()
    message = (
        f"the software of {machine.name} sweeps all areas of a colour together, "
        f"so {name} does not change which rows are swept"
    )
    remedy = "leave it out, or give areas that are to be swept by themselves a layer of their own"
    return (note(f"{name}-without-effect", message, remedy),)
