"""``evenmark schema``: JSON Schema of the recipe, for editors."""

from __future__ import annotations

from typing import Annotated, List

import typer

from preprocess.cli import show


def schema(
    *,
    with_: Annotated[
        List[str],
        typer.Option(
            "--with", help="also a pass of another package, whose code is run", metavar="NAME"
        ),
    ] = [],  # noqa: B006 - typer wants a list, and nobody changes it
) -> None:
    """Print the JSON Schema of the recipe with the built-in passes.

    Code of other packages runs only for passes that are named by --with.
    """
    import json

    from preprocess.recipe.reference.recipe_schema import recipe_schema

    show.print_text(json.dumps(recipe_schema(with_), indent=2) + "\n")
