"""Facts of one side for the head of the block: layers, findings and figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.model.artwork.output import output_layers

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preprocess.findings import Finding
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork


def to_nine_digits(value: Any) -> Any:
    """A fact with all of its numbers to nine digits: the last bits differ by processor."""
    if isinstance(value, float):
        return float(f"{value:.9g}")
    if isinstance(value, dict):
        return {key: to_nine_digits(one) for key, one in value.items()}
    return [to_nine_digits(one) for one in value] if isinstance(value, list | tuple) else value


def layer_facts(
    artwork: Artwork, prediction: Prediction, colours: Mapping[str, str]
) -> list[dict[str, Any]]:
    """The output layers in marking order, guides included: settings, rows and times of each.

    What is not set or not known is None; power is a share, lengths are mm, times s.
    """
    times = {layer.output.id: layer for layer in prediction.schedule.layers}
    powers = prediction.plan.powers
    found = []
    for output in output_layers(artwork, guides=True):
        time, settings = times.get(output.id), output.settings
        found.append(
            {
                "name": output.id,
                "operation": str(output.operation),
                "colour": colours.get(output.id),
                "power": powers.get(output.id) if settings.power is not None else None,
                "speed": settings.speed,
                "pitch": settings.pitch,
                "angle": settings.angle,
                "direction": None if settings.direction is None else str(settings.direction),
                "repeats": settings.repeats or 1,
                "begins": time and time.begins,
                "ends": time and time.ends,
                "rows": time and time.rows,
                "marked": time and time.marked,
                "return": time and time.median_return,
            }
        )
    return found


def finding_facts(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Findings as the page tells them; places in the drawing's own coordinates, mm."""
    return [
        {
            "severity": str(one.severity),
            "code": one.code,
            "what": one.message,
            "remedy": one.remedy,
            "spot": None if one.spot is None else [round(mm, 3) for mm in one.spot],
        }
        for one in findings
    ]


def index_facts(heat: HeatIndex) -> dict[str, Any]:
    """Figures of the heat index, and how far they are to be trusted."""
    return {
        "known": bool(heat.images),
        "largest": heat.largest,
        "median": heat.median,
        "p95": heat.p95,
        "cv": heat.cv,
        "tooWeak": heat.too_weak,
        "tooHeavy": heat.too_heavy,
        "calibrated": heat.calibrated,
        "trust": heat.trust,
        "assumed": list(heat.assumed),
        "unknown": list(heat.unknown),
        "every": heat.every,
        "wideColumns": heat.wide_columns,
    }
