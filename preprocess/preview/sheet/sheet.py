"""The job sheet: one HTML page to take to the machine. It needs no network and no script."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import Severity
from preprocess.loading.yaml.text import yaml_text
from preprocess.preview.drawing.html import own, page_of
from preprocess.preview.sheet.checklist import CAUTIONS, checklist
from preprocess.preview.sheet.head import facts
from preprocess.preview.sheet.heat import heat_view
from preprocess.preview.sheet.pictures import overlay, thumbnail
from preprocess.preview.sheet.rows import profiles, samples
from preprocess.preview.sheet.steps import steps

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.findings import Finding
    from preprocess.preview.sheet.heat import HeatView
    from preprocess.preview.sheet.job import Job

ON_PAPER = 12
"""Findings that are printed; the page shows all of them, paper says how many it leaves out."""

_PACKAGE = "preprocess.preview"


def sheet_html(job: Job) -> bytes:
    """The sheet as UTF-8 HTML. All text of the drawing and the recipe is escaped."""
    heat = heat_view(job)
    told = _Told(job.findings, heat)
    return page_of(
        _PACKAGE,
        "sheet.html",
        job=job,
        css=own(_PACKAGE, "sheet.css"),
        script=own(_PACKAGE, "sheet.js"),
        thumbnail=thumbnail(job),
        facts=facts(job),
        steps=steps(job),
        checklist=checklist(job),
        cautions=CAUTIONS,
        findings=told.rows,
        left_out=max(0, len(told.rows) - ON_PAPER),
        overlay=overlay(job),
        heat=heat,
        profiles=profiles(job),
        samples=samples(),
        recipe=yaml_text(dict(job.recipe)),
        versions=", ".join(f"{name} {number}" for name, number in sorted(job.versions.items())),
    )


_RANK = {severity: n for n, severity in enumerate((Severity.STOP, Severity.WARN, Severity.NOTE))}


class _Told:
    """Findings with the number of their place on the map, 0 without one; the worst first."""

    def __init__(self, findings: Sequence[Finding], heat: HeatView | None) -> None:
        numbers = heat.numbers if heat else {}
        last = len(numbers) + 1
        rows = [(finding, numbers.get(finding, 0)) for finding in findings]
        self.rows = sorted(rows, key=lambda row: (_RANK[row[0].severity], row[1] or last))
