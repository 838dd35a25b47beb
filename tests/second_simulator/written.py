"""A motif written by evenmark, and its beam as the second simulator follows it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction
from preprocess.process_limits import convert_within_limits
from preprocess.recipe.load import load_recipe
from tests.second_simulator.arts import drawing
from tests.second_simulator.beam import Laser, Setting, light_of
from tests.second_simulator.drawing import read_paths

if TYPE_CHECKING:
    from preprocess.pipeline import Conversion
    from tests.second_simulator.beam import Light

RECIPE = """recipe: 1
design: motif.svg
machine: {{name: bench galvo, turnaround: 1.2 ms, fly_back: 2500 mm/s, spot: 0.08 mm,
  layer_pause: 0.3 s, raster_groups: {groups}, first_row: {first_row}}}
filament: {{name: moss PLA, polymer: PLA}}
layers:
  - {{name: motif, operation: engrave, choose: {{select: "*"}}}}
settings:
  engrave: {{power: {power} %, speed: {speed} mm/s, pitch: {pitch} mm, direction: {direction},
    angle: {angle} deg}}
  score: {{power: {power} %, speed: {speed} mm/s}}
passes: {passes}
"""


@dataclass(frozen=True, kw_only=True)
class Job:
    """How a motif is to be marked; mm, mm/s, per cent, degrees."""

    motif: str
    passes: str = "[merge]"
    speed: float = 400.0
    pitch: float = 0.1
    power: float = 60.0
    direction: str = "one-way"
    groups: str = "each-colour"
    first_row: str = "edge"
    angle: float = 0.0

    def recipe(self) -> str:
        """The job as a recipe."""
        return RECIPE.format(**{name: getattr(self, name) for name in self.__dataclass_fields__})


def written(job: Job) -> tuple[Conversion, Light]:
    """Convert a job, and follow the beam over the file that was written."""
    loaded = load_recipe(None, job.recipe(), "motif.svg")
    result = convert_within_limits(loaded, drawing(job.motif), "motif.svg")
    assert result.data is not None, result.findings
    typed = {
        colour: replace(one, angle=job.angle) for colour, one in settings_typed(result).items()
    }
    return result, light_of(read_paths(result.data), typed, laser_of(job))


def laser_of(job: Job) -> Laser:
    """The bench as the second simulator has it."""
    return Laser(each_colour=job.groups == "each-colour", first_row=job.first_row)


def settings_typed(result: Conversion) -> dict[str, Setting]:
    """What the job sheet tells a person to type in for each colour."""
    return {
        result.colours[output.id].lower(): Setting(
            power=output.settings.power,
            speed=output.settings.speed,
            pitch=output.settings.pitch or 0.1,
            two_way=output.settings.direction is Direction.TWO_WAY,
            angle=output.settings.angle or 0.0,
        )
        for output in output_layers(result.after)
    }
