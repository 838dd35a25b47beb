"""The job sheet: one HTML page to take to the machine. It needs no network and no script."""

from __future__ import annotations

import unicodedata
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from preprocess.findings import Severity
from preprocess.loading.yaml_text import yaml_text
from preprocess.preview.sheet_facts import facts
from preprocess.preview.sheet_heat import heat_view
from preprocess.preview.sheet_list import CAUTIONS, checklist
from preprocess.preview.sheet_pictures import overlay, thumbnail
from preprocess.preview.sheet_rows import profiles, samples
from preprocess.preview.sheet_steps import steps

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.findings import Finding
    from preprocess.preview.sheet_heat import HeatView
    from preprocess.preview.sheet_job import Job

ON_PAPER = 12
"""Findings that are printed; the page shows all of them, paper says how many it leaves out."""

_FOLDER = files("preprocess.preview") / "templates"
_NEVER_TEXT = {"Cc", "Cs", "Cn"}


def sheet_html(job: Job) -> bytes:
    """The sheet as UTF-8 HTML. All text of the drawing and the recipe is escaped."""
    heat = heat_view(job)
    told = _Told(job.findings, heat)
    page = _template().render(
        job=job,
        css=_own("sheet.css"),
        script=_own("sheet.js"),
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
    return f"{page}\n".encode()


_RANK = {severity: n for n, severity in enumerate((Severity.STOP, Severity.WARN, Severity.NOTE))}


class _Told:
    """Findings with the number of their place on the map, 0 without one; the worst first."""

    def __init__(self, findings: Sequence[Finding], heat: HeatView | None) -> None:
        numbers = heat.numbers if heat else {}
        last = len(numbers) + 1
        rows = [(finding, numbers.get(finding, 0)) for finding in findings]
        self.rows = sorted(rows, key=lambda row: (_RANK[row[0].severity], row[1] or last))


def _template() -> Any:
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_printable,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.from_string((_FOLDER / "sheet.html").read_text("utf-8"))


def _own(name: str) -> Markup:
    return Markup((_FOLDER / name).read_text("utf-8"))  # noqa: S704 - our own file


def _printable(value: object) -> object:
    """Text without control characters; markup of our own is left as it is."""
    if isinstance(value, Markup) or not isinstance(value, str):
        return value
    return "".join(c for c in value if c == "\n" or unicodedata.category(c) not in _NEVER_TEXT)
