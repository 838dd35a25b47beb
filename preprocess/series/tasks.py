"""Task of a worker: one design of a series, from bytes to bytes."""

from __future__ import annotations

import traceback
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from preprocess.errors import UserError
from preprocess.findings import halting

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preprocess.findings import Finding
    from preprocess.marking.prediction import Prediction
    from preprocess.pipeline import Conversion
    from preprocess.recipe.load import LoadedRecipe
    from preprocess.series.recording import Recorder


@dataclass(frozen=True, slots=True, kw_only=True)
class Products:
    """Outputs of each design beside the laser-ready SVG."""

    overlay: bool = False
    sheet: bool = False
    report: bool = False
    page: bool = False
    heat: bool = True
    strict: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignTask:
    """One design with all that a worker needs; it opens no file. Outputs are called by `name`.

    `recorder` makes its entry; None where nothing is recorded.
    """

    loaded: LoadedRecipe
    data: bytes
    path: str
    title: str
    name: str
    wants: Products
    recorder: Recorder | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskResult:
    """Result of a task.

    `outputs` are bytes by ending; empty when it failed. `problems` says why it failed, one sentence
    each; `bug` is the traceback of a fault of ours. `figures` are those of the summary. `entry` is
    for the record, where there is one.
    """

    outputs: Mapping[str, bytes] = field(default_factory=dict)
    findings: tuple[dict[str, Any], ...] = ()
    problems: tuple[str, ...] = ()
    bug: str = ""
    figures: Mapping[str, Any] = field(default_factory=dict)
    entry: object = None

    @property
    def failed(self) -> bool:
        """True if there is nothing to write."""
        return not self.outputs


def run_task(task: DesignTask) -> TaskResult:
    """Convert one design; whatever goes wrong with it stays its own."""
    try:
        return _made(task)
    except UserError as error:
        return TaskResult(problems=tuple(map(str, error.complaints)))
    except Exception as error:  # noqa: BLE001 - one bad file never stops the others
        name = type(error).__name__
        return TaskResult(
            problems=(f"this is a bug in evenmark, not in the drawing: {name}",),
            bug="".join(traceback.format_exception(error)),
        )


def _made(task: DesignTask) -> TaskResult:
    from preprocess.pipeline import predict_both, prediction_findings
    from preprocess.process_limits import convert_within_limits, within_limits

    wants = task.wants
    result = convert_within_limits(task.loaded, task.data, task.path, strict=wants.strict)
    result, entry = _recorded(task, result)
    predicted = predict_both(result) if wants.heat and result.data is not None else None
    later = prediction_findings(result, predicted[1]) if predicted is not None else ()
    findings = (*result.findings, *later)
    told = tuple(asdict(finding) for finding in findings)
    faults = halting(findings, strict=wants.strict)
    if result.data is None or faults:
        return TaskResult(findings=told, problems=tuple(map(_sentence, faults)))
    with within_limits(task.loaded, task.path):
        outputs = dict(_outputs(task, result, result.data, predicted))
    figures = _figures(result, predicted)
    return TaskResult(outputs=outputs, findings=told, figures=figures, entry=entry)


def _recorded(task: DesignTask, result: Conversion) -> tuple[Conversion, object]:
    if task.recorder is None or result.data is None:
        return result, None
    names = (Path(task.path).name, _svg_name(task))
    return task.recorder(result, task.loaded, task.data, names)


def _svg_name(task: DesignTask) -> str:
    return f"{task.name}.laser.svg"


def _sentence(finding: Finding) -> str:
    where = f" ({', '.join(finding.elements[:3])})" if finding.elements else ""
    return f"{finding.message}; {finding.remedy}{where}"


def _outputs(
    task: DesignTask,
    result: Conversion,
    data: bytes,
    predicted: tuple[Prediction, Prediction] | None,
) -> Iterable[tuple[str, bytes]]:
    from preprocess.pipeline import make_overlay, make_report, make_sheet

    file = _svg_name(task)
    yield "laser.svg", data
    if task.wants.overlay:
        yield "overlay.svg", make_overlay(result, task.title)
    if task.wants.sheet:
        yield "sheet.html", make_sheet(result, task.loaded, task.title, predicted, file)
    if task.wants.report:
        yield "report.json", make_report(result, task.loaded, task.title, predicted, file)
    if task.wants.page and predicted is not None:
        from preprocess.playback.page.page import playback_page

        yield "playback.html", playback_page(result, predicted, task.title)


def _figures(
    result: Conversion, predicted: tuple[Prediction, Prediction] | None
) -> dict[str, float | int]:
    """Layers, and where it was predicted the time (s) and its worst places over the median."""
    figures: dict[str, float | int] = {"layers": len(result.colours)}
    if predicted is not None:
        after = predicted[1]
        figures["time_s"] = after.schedule.total
        if after.objective is not None:
            figures["hottest_place"] = after.objective.likely.hot
            figures["coldest_place"] = after.objective.likely.cold
    return figures
