"""``evenmark schema``: JSON Schema of the recipe, so that an editor can help."""

from __future__ import annotations


def schema() -> None:
    """Print the JSON Schema of the recipe, with all passes at hand."""
    import json

    from preprocess.cli import show
    from preprocess.recipe.reference.recipe_schema import recipe_schema

    made, broken = recipe_schema()
    for error in broken:
        show.print_complaints(error)
    show.print_text(json.dumps(made, indent=2) + "\n")
