"""The summary of a run: at most eight lines, warnings first."""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum
from typing import TYPE_CHECKING

from preprocess.cli.show import FIRST_MARK
from preprocess.cli.telling import (
    Line,
    always_lines,
    note_count,
    warning_lines,
    within_line,
)
from preprocess.findings import counted
from preprocess.units import TIME, digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.findings import Finding
    from preprocess.marking.prediction import Prediction
    from preprocess.pipeline import Conversion

MOST_LINES = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class RunStory:
    """Story of a run: its result, findings, heat and files."""

    result: Conversion
    findings: tuple[Finding, ...]
    predicted: tuple[Prediction, Prediction] | None
    total: float
    paths: Sequence[str]
    kept: Sequence[str] = ()


def summary_lines(story: RunStory) -> list[Line]:
    """Warnings, files, changes, evenness, card and cautions, in so many lines at most."""
    told = [
        *_files(story),
        Line("", _changes(story)),
        *([Line("", within_line(predicted_sentence(story.predicted)))] if story.predicted else []),
        *always_lines(story.findings),
        *(Line("", line) for line in FIRST_MARK),
    ]
    most = max(1, MOST_LINES - len(told))
    return [*warning_lines(story.findings, most), *told]


def _files(story: RunStory) -> list[Line]:
    page = story.result.after.page
    layers = counted(len(story.result.colours), "layer")
    lasts = f", {TIME.text(round(story.total, 1))} to mark"
    if story.predicted:
        lasts += f", {TIME.text(round(story.predicted[0].schedule.total, 1))} as drawn"
    size = f"{digits(page.width, 4)} × {digits(page.height, 4)} mm, {layers}{lasts}"
    first, *others = story.paths
    name = "to standard output" if first == "-" else first
    told = f"{name} is as it was" if first in story.kept else f"wrote {name}"
    lines = [Line("", f"{told}: {size}")]
    if others:
        lines.append(Line("", f"and {', '.join(others)}"))
    return lines


def _changes(story: RunStory) -> str:
    """Change of the marked area by each step, and the number of notes that tell more."""
    steps = []
    for name, changes in story.result.ledger:
        area = fsum(c.added.area for c in changes) - fsum(c.removed.area for c in changes)
        if abs(area) >= _LEAST:
            steps.append(_step(name, area))
    notes = note_count(story.findings)
    told = f"changed (mm²): {', '.join(steps)}" if steps else "changed: no area"
    return "; ".join(filter(None, (within_line(told, len(notes) + 2), notes)))


_LEAST = 0.05
"""mm²; a smaller change of area is not worth a word."""


def _step(name: str, area: float) -> str:
    sign = "+" if area > 0 else "−"
    return f"{name} {sign}{abs(area):.1f}"


def predicted_sentence(predicted: tuple[Prediction, Prediction]) -> str:
    """Before and after in one sentence, in the figures that `advise` ranks by; a prediction."""
    from preprocess.marking.evenness.sentence import outside_words, signed_percent

    one, other = predicted
    before, after = one.objective, other.objective
    if after is None:
        return "no heat index: speed or pitch is missing, or nothing is engraved on the part"
    now, was = after.likely, before.likely if before else after.likely
    hot, cold = ((was.hot, now.hot), (was.cold, now.cold))
    told = (
        f"predicted: worst place {signed_percent(hot[0])} → {signed_percent(hot[1])}, "
        f"coldest {signed_percent(cold[0])} → {signed_percent(cold[1])}"
    )
    if now.outside is not None:
        told += f", {outside_words(now)}"
    return f"{told} ({other.heat.trust})" if other.heat.trust else told
