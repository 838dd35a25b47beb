"""``evenmark passes``: the installed passes; one in full; whether all of them load."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from preprocess.cli import show
from preprocess.cli.options import AsJson
from preprocess.engine import registry
from preprocess.errors import Exit, UserError

if TYPE_CHECKING:
    from preprocess.recipe.reference.pass_explanation import PassExplanation


def passes(
    name: Annotated[
        Optional[str],
        typer.Argument(metavar="[NAME]", help="pass to explain in full", show_default=False),
    ] = None,
    *,
    check: Annotated[bool, typer.Option("--check", help="load all, and report failures")] = False,
    json: AsJson = False,
) -> None:
    """List the passes, or explain one in full."""
    if check:
        _check(json=json)
    elif name is None:
        _list(json=json)
    else:
        from preprocess.recipe.reference.pass_explanation import explain_pass

        page = explain_pass(name)
        if json:
            show.print_result("pass", _page_data(page))
        else:
            _show(page)


def _list(*, json: bool) -> None:
    named = [(name, registry.pass_summary(name)) for name in registry.pass_names()]
    if not json:
        show.print_pairs(named)
        return
    for name, summary in named:
        show.print_result("pass", {"name": name, "summary": summary})


def _check(*, json: bool) -> None:
    from preprocess.recipe.reference.pass_explanation import explain_pass

    broken = False
    for name in registry.pass_names():
        try:
            explain_pass(name)
        except UserError as error:
            show.print_complaints(error, as_json=json)
            broken = True
    if broken:
        raise typer.Exit(Exit.USER)
    if not json:
        show.print_sentence(f"all {len(registry.pass_names())} passes load")


def _page_data(page: PassExplanation) -> dict[str, Any]:
    from preprocess.loading.schema.type_words import accepted_values, default_text

    keys = [
        {
            "name": key.name,
            "accepts": accepted_values(key),
            "required": key.required,
            "default": None if key.required else default_text(key),
            "doc": key.doc,
        }
        for key in page.parameters
    ]
    told = {"text": list(page.paragraphs), "order": list(page.order), "example": list(page.example)}
    return {"name": page.name, "parameters": keys, **told}


def _show(page: PassExplanation) -> None:
    from preprocess.loading.schema.type_words import accepted_values, default_text

    show.print_heading(page.name)
    for paragraph in page.paragraphs:
        show.print_paragraph(paragraph)
        show.print_text("\n")
    show.print_heading("Parameters")
    for key in page.parameters:
        said = "required" if key.required else f"default: {default_text(key)}"
        show.print_paragraph(f"{key.name}: {accepted_values(key)} ({said})", indent=2)
        show.print_paragraph(key.doc, indent=6)
    show.print_text("\n")
    show.print_heading("Order")
    for sentence in page.order:
        show.print_paragraph(sentence, indent=2)
    show.print_text("\n")
    show.print_heading("Example")
    for line in page.example:
        show.print_paragraph(line, indent=2)
