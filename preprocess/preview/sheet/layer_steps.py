"""The colour layers as numbered steps: what a person types into the laser software."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.marking.job.plan import USUAL_SETTINGS, plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.preview.drawing.entries import millimetres, square_mm
from preprocess.preview.sheet.colour_names import colour_name
from preprocess.preview.sheet.quantities import duration_text, percent_text
from preprocess.write.svg.decimals import decimal_text
from preprocess.write.svg.palette import slot_of

if TYPE_CHECKING:
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.machine import Machine
    from preprocess.preview.sheet.sheet_job import SheetJob

_NOTHING = "–"
"""Stands where a setting does not apply."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerStep:
    """One row of the table, all in words. `number` is 0 for guides, which are not marked.

    `colour` is empty where the layer is not in the file. `settable` is the power that the machine
    can be set to, where the wanted one lies between two of its steps. `slot` is the colour's place
    in the palette of the software, such as "slot 2". `extra` are the machine's own settings.
    """

    number: int
    name: str
    operation: str
    colour: str
    colour_name: str
    amount: str
    power: str = _NOTHING
    settable: str = ""
    slot: str = ""
    speed: str = _NOTHING
    pitch: str = _NOTHING
    rows: str = _NOTHING
    repeats: str = _NOTHING
    extra: tuple[str, ...] = ()
    time: str = _NOTHING


def job_schedule(job: SheetJob) -> Schedule:
    """Timing of the beam over the output: as predicted, or computed without its heat."""
    if job.predicted is not None:
        return job.predicted[1].schedule
    machine = job.bench.machine_or_default
    return schedule_of(plan_of(job.after, machine), machine)


def layer_steps(job: SheetJob) -> list[LayerStep]:
    """Layers in marking order, then guides."""
    times = {layer.output.id: layer.lasts for layer in job_schedule(job).layers}
    outputs = output_layers(job.after, guides=True)
    marked = [output for output in outputs if output.operation is not Operation.GUIDE]
    guides = [output for output in outputs if output.operation is Operation.GUIDE]
    rows = [_step(n, output, job, times.get(output.id)) for n, output in enumerate(marked, 1)]
    return [*rows, *(_guide(output, job) for output in guides)]


def _step(number: int, output: OutputLayer, job: SheetJob, time: float | None) -> LayerStep:
    settings, engraved = output.settings.over(USUAL_SETTINGS), output.operation is Operation.ENGRAVE
    pitch = "not set" if settings.pitch is None else f"{decimal_text(settings.pitch, 4)} mm"
    colour = job.colours[output.id]
    return LayerStep(
        number=number,
        name=output.id,
        operation=str(output.operation),
        colour=colour,
        colour_name=colour_name(colour),
        slot=_slot(colour, job),
        amount=_amount(output),
        power=_power(output, job.bench.machine),
        settable="" if output.in_greys else _settable(settings.power, job.bench.machine),
        speed="not set" if settings.speed is None else f"{decimal_text(settings.speed, 2)} mm/s",
        pitch=pitch if engraved else _NOTHING,
        rows=f"{settings.direction}, {decimal_text(settings.angle or 0.0, 2)}°"
        if engraved
        else _NOTHING,
        repeats=f"{settings.repeats}",
        extra=tuple(f"{name.replace('_', ' ')} {text}" for name, text in settings.extra),
        time="not known" if time is None else duration_text(time),
    )


def _guide(output: OutputLayer, job: SheetJob) -> LayerStep:
    colour = job.colours.get(output.id, "")
    return LayerStep(
        number=0,
        name=output.id,
        operation="guide: not marked",
        colour=colour,
        colour_name=colour_name(colour) if colour else "not in the file",
        slot=_slot(colour, job),
        amount="switch its output off" if colour else "",
    )


def _power(output: OutputLayer, machine: Machine | None) -> str:
    """The power; of images of greys that of the lightest and of black."""
    if not output.in_greys:
        return percent_text(output.settings.power)
    if machine is None or machine.grey is None:
        return "by grey"
    return f"{percent_text(machine.grey.from_)} to {percent_text(machine.grey.to)} by grey"


def _slot(colour: str, job: SheetJob) -> str:
    number = slot_of(colour, job.bench.machine)
    return f"slot {number}" if number else ""


def _amount(output: OutputLayer) -> str:
    if output.operation is not Operation.ENGRAVE:
        lines = (s.geometry.length for s in output.shapes)
        return millimetres(sum(lines))
    bars = sum(shape.bars.area for shape in output.shapes if shape.bars is not None)
    art = square_mm(sum(shape.geometry.area for shape in output.shapes))
    return f"{art}, bars {square_mm(bars)}" if bars else art


def _settable(power: float | None, machine: Machine | None) -> str:
    """The nearest power that the machine can be set to, unless it is the wanted one."""
    if power is None or machine is None:
        return ""
    known = machine.power
    nearest = known.from_ + round((power - known.from_) / known.step) * known.step
    nearest = min(max(nearest, known.from_), known.to)
    return "" if percent_text(nearest) == percent_text(power) else percent_text(nearest)
