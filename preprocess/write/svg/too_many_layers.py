"""More layers than colours, or than the machine's software takes: which to merge."""

from __future__ import annotations

from itertools import groupby, pairwise
from typing import TYPE_CHECKING

from preprocess.findings import stop
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.findings import Finding
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.machine import Machine


def too_many_layers(
    outputs: Sequence[OutputLayer], colours: int, machine: Machine | None
) -> list[Finding]:
    """Stops when there are more layers than `colours` or than the machine takes."""
    count = len(outputs)
    limits = [(colours, "there are", "colours")]
    if machine is not None and machine.max_layers is not None:
        limits.insert(0, (machine.max_layers, f"the software of {machine.name} takes", "layers"))
    return [
        stop(
            "too-many-layers",
            f"the output needs {count} colour layers, but {who} {limit} {what}",
            _remedy(outputs, count - limit, more_colours=what == "colours"),
        )
        for limit, who, what in limits
        if count > limit
    ]


def _remedy(outputs: Sequence[OutputLayer], excess: int, *, more_colours: bool) -> str:
    images = [output for output in outputs if output.in_greys]
    most = (len(images) - excess) // len({one.layer for one in images}) if images else 0
    others = [output for output in outputs if not output.in_greys]
    pairs = sorted(
        (pair for _, group in groupby(others, _family) for pair in pairwise(group)), key=_apart
    )
    ways = [_sentence(one, other) for one, other in pairs[:excess]]
    if most > 0:
        ways = [f"give grey fewer images: {most}"]
    elif len(ways) < excess:
        ways.append("put layers with the same operation and settings under one name in layers:")
    if more_colours:
        ways.append("or give the others a colour of your own under colours:")
    return "; ".join(ways)


def _family(output: OutputLayer) -> tuple[str, str, bool]:
    return output.layer, str(output.operation), output.level is not None


def _apart(pair: tuple[OutputLayer, OutputLayer]) -> float:
    """Difference of the powers of two levels; unknown powers come last."""
    one, other = (output.settings.power for output in pair)
    return abs(one - other) if one is not None and other is not None else 1.0


def _sentence(one: OutputLayer, other: OutputLayer) -> str:
    step = "interleave: one colour" if one.in_rounds else "tag-power or shades: one level"
    text = f"merge {one.id} and {other.id} by giving {step} fewer"
    powers = (one.settings.power, other.settings.power)
    if powers[0] is None or powers[1] is None:
        return text
    return f"{text} (they differ only by {digits(100 * abs(powers[0] - powers[1]), 3)} % power)"
