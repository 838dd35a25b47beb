"""``evenmark schema``: JSON Schema of the recipe, for editors."""

from __future__ import annotations

from typing import Annotated, List

import typer

from preprocess.cli import files, show
from preprocess.cli.options import JSON, AsJson, Quiet, output


def schema(
    *,
    out: Annotated[
        str, output("file to write; default: standard output", "--out", "-o", endings=JSON)
    ] = "",
    with_: Annotated[
        List[str],
        typer.Option(
            "--with", help="also a pass of another package, whose code is run", metavar="NAME"
        ),
    ] = [],  # noqa: B006 - typer wants a list, and nobody changes it
    quiet: Quiet = False,
    json: AsJson = False,
) -> None:
    """Print the JSON Schema of recipes, for editors.

    Code of other packages runs only for passes that are named by --with.
    """
    from json import dumps

    from preprocess.recipe.reference.recipe_schema import recipe_schema

    text = dumps(recipe_schema(with_), indent=2) + "\n"
    if out in {"", files.STREAM}:
        show.print_text(text)
        return
    files.check_outputs([out], [])
    files.write_outputs([(out, text.encode())], as_json=json, quiet=quiet)
