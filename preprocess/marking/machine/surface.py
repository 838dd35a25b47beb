"""The surface of a print under the beam: its own lines, and how flat it is."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.findings import Finding, warn
from preprocess.model.artwork.output import OutputLayer, output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.machine import Machine
    from preprocess.model.bench.part import Part, PrintLines

_NEARLY_ALONG = 15.0
"""Degrees between rows and print lines below which stripes show."""

_WIDER = 1.05
"""Times its width in focus that a spot may have where marks are still even."""

_DIVIDES = 0.02
"""Tolerance on the ratio of spacing to pitch as a whole number, as a share of that number."""


def surface_findings(artwork: Artwork, bench: Bench) -> tuple[Finding, ...]:
    """Warn where rows beat with the print's own lines, and where the surface leaves the focus."""
    found: list[Finding] = []
    for part in bench.parts:
        if part.print_lines is not None:
            for output in output_layers(artwork):
                found.extend(_against_lines(output, part.print_lines))
        found.extend(_out_of_focus(part, bench.machine_or_default))
    return tuple(dict.fromkeys(found))


def _against_lines(output: OutputLayer, lines: PrintLines) -> Iterator[Finding]:
    pitch = output.settings.pitch
    if output.operation is not Operation.ENGRAVE or pitch is None:
        return
    between = angle_between(output.settings.angle or 0.0, lines.angle)
    if between < _NEARLY_ALONG:
        message = (
            f"rows of {output.id} run within {digits(between, 3)}° of the print's own lines, "
            "and stripes will show"
        )
        yield warn(
            "rows-along-print-lines", message, "turn the scan angle by 45° or 90° from these lines"
        )
    times = round(lines.spacing / pitch)
    if times >= 1 and abs(lines.spacing / pitch - times) < _DIVIDES * times:
        message = (
            f"the pitch of {output.id}, {digits(pitch, 4)} mm, divides the print-line spacing of "
            f"{digits(lines.spacing, 4)} mm by {times}: moiré stripes are possible"
        )
        remedy = (
            f"take a pitch such as {digits(lines.spacing / (times + 0.5), 3)} mm and test it, "
            "or let rows cross the lines"
        )
        yield warn("pitch-divides-print-lines", message, remedy)


def angle_between(one: float, other: float) -> float:
    """Degrees between two directions that have no sense, 0 to 90."""
    apart = abs(one - other) % 180.0
    return min(apart, 180.0 - apart)


def depth_of_focus(spot: float, wavelength: float) -> float:
    """Height range (mm) in which the spot stays below √2 of its size: twice the Rayleigh range.

    For an ideal Gaussian beam of 1/e² diameter `spot` (mm), 2 π (spot/2)² / wavelength (ISO 11146
    with M² = 1); real beams hold their focus over less.
    """
    return 2 * math.pi * (spot / 2) ** 2 / wavelength


def even_focus(spot: float, wavelength: float) -> float:
    """How far above and below the focus (mm) the spot is at most 5 % wider: 0.32 Rayleigh ranges.

    w(z) = w0 √(1 + (z / zR)²) with zR = π w0² / wavelength (ISO 11146-1, M² = 1), solved for z.
    Marks stay even over far less than the depth of focus, at whose ends irradiance has halved.
    """
    return depth_of_focus(spot, wavelength) / 2 * math.sqrt(_WIDER**2 - 1)


def _out_of_focus(part: Part, machine: Machine) -> Iterator[Finding]:
    if machine.spot is None or machine.wavelength is None:
        return
    depth = depth_of_focus(machine.spot, machine.wavelength)
    if part.height_range <= depth:
        return
    message = (
        f"the surface varies in height by {digits(part.height_range, 3)} mm, but even an ideal "
        f"beam stays in focus over {digits(depth, 3)} mm only: beyond it the mark gets wider and "
        "weaker"
    )
    remedy = "focus on the middle height, mark the part in tilted stages, or choose a flatter place"
    yield warn("beyond-the-focus", message, remedy)
