"""The job sheet: one HTML page to take to the machine. It needs no network and no script."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.findings import counted
from preprocess.loading.yaml.yaml_text import yaml_text
from preprocess.preview.drawing.html import own_file, render_page
from preprocess.preview.sheet.checklist import CAUTIONS, checklist
from preprocess.preview.sheet.findings_view import ON_PAPER, findings_view
from preprocess.preview.sheet.heat_view import heat_view
from preprocess.preview.sheet.job_facts import job_facts
from preprocess.preview.sheet.layer_steps import layer_steps
from preprocess.preview.sheet.overlay_view import overlay_view, thumbnail
from preprocess.preview.sheet.profile_view import profiles, samples

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.preview.sheet.sheet_job import SheetJob

_PACKAGE = "preprocess.preview"


def job_sheet_html(job: SheetJob) -> bytes:
    """The sheet as UTF-8 HTML. All text of the drawing and the recipe is escaped."""
    heat = heat_view(job)
    findings = findings_view(job.findings, heat.numbers if heat else {})
    return render_page(
        _PACKAGE,
        "sheet.html",
        job=job,
        css=own_file(_PACKAGE, "sheet.css"),
        script=own_file(_PACKAGE, "sheet.js"),
        thumbnail=thumbnail(job),
        facts=job_facts(job),
        steps=layer_steps(job),
        checklist=checklist(job),
        cautions=CAUTIONS,
        findings=findings,
        left_out=max(0, len(findings) - ON_PAPER),
        overlay=overlay_view(job),
        heat=heat,
        profiles=profiles(job),
        samples=samples(),
        recipe=yaml_text(_without_trials(job.recipe)),
        versions=", ".join(f"{name} {number}" for name, number in sorted(job.versions.items())),
    )


def _without_trials(recipe: Mapping[str, Any]) -> dict[str, Any]:
    """The recipe with the number of graded cells in place of the cells: they fill pages."""
    found, filament = dict(recipe), recipe.get("filament")
    if isinstance(filament, dict) and filament.get("trials"):
        cells = counted(len(filament["trials"]), "graded cell")
        found["filament"] = {**filament, "trials": f"{cells}, listed in the profile"}
    return found
