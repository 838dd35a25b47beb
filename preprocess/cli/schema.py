"""``evenmark schema``: JSON Schema of the recipe, for editors."""

from __future__ import annotations

from preprocess.cli import show


def schema() -> None:
    """Print the JSON Schema of the recipe, with all installed passes."""
    import json

    from preprocess.recipe.reference.recipe_schema import recipe_schema

    made, broken = recipe_schema()
    for error in broken:
        show.print_complaints(error)
    show.print_text(json.dumps(made, indent=2) + "\n")
