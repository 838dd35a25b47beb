"""``evenmark explain``: what a finding means, how to check it, and what to do."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Optional

import typer

from preprocess.cli import show
from preprocess.cli.commands import nearest
from preprocess.cli.options import AsJson
from preprocess.errors import wrong


def explain(
    code: Annotated[
        Optional[str],
        typer.Argument(
            metavar="[CODE]", help="code of a finding, such as too-heavy", show_default=False
        ),
    ] = None,
    *,
    json: AsJson = False,
) -> None:
    """Explain a finding: why, how to check it, what to do."""
    from preprocess.explained.explanations import explanations

    known = explanations()
    if code is None and json:
        for one in known.values():
            show.print_result("explanation", asdict(one))
        return
    if code is None:
        show.print_pairs([(one.code, one.title) for one in known.values()])
        return
    code = code.strip("[]").lower()
    if code not in known:
        near = nearest(code, known)
        remedy = f"did you mean {near}?" if near else "evenmark explain lists all codes"
        raise wrong(f"there is no finding {code!r}", remedy)
    one = known[code]
    if json:
        show.print_result("explanation", asdict(one))
        return
    show.print_heading(f"{one.code}: {one.title}")
    for name, text in (("Why", one.why), ("How to check", one.check), ("What to do", one.do)):
        show.print_paragraph(f"{name}: {text}")
    if one.recipe:
        show.print_paragraph("In the recipe:")
        for line in one.recipe:
            show.print_paragraph(line, indent=2)
