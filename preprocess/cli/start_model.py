"""``evenmark start --model``: a recipe for a part that is known by its model, and a drawing."""

from __future__ import annotations

from pathlib import Path

from preprocess.cli import files, show
from preprocess.errors import Place, wrong


def start_with_model(
    model: str,
    out: str,
    keys: dict[str, str],
    machine: str,
    *,
    replace: bool,
    quiet: bool,
    json: bool,
) -> None:
    """Write a recipe and the drawing to draw on beside it.

    Raises:
        UserError: one of them exists already, or the model cannot be used.
    """
    target = out or str(Path(model).with_suffix(".yaml"))
    if target == files.STREAM:
        raise wrong("a recipe for a model has a drawing beside it", "name a file with -o")
    drawing = str(Path(target).with_suffix(".svg"))
    inputs = [Path(model), *([Path(machine)] if machine else [])]
    files.check_outputs([target, drawing], inputs)
    for path in (target, drawing):
        if Path(path).exists() and not replace:
            remedy = "name another with -o, or overwrite it with --replace"
            raise wrong("this file exists already", remedy, place=Place(path))
    from preprocess.preview.relief.template import DRAWING, GUIDES, OUTLINE, template_svg
    from preprocess.recipe.load import load_recipe
    from preprocess.recipe.starter.model_recipe import ModelStart, model_recipe

    said = ModelStart(
        design=Path(drawing).name,
        model=files.seen_from(target, model) or model,
        machine=files.seen_from(target, machine) if machine else None,
        keys=tuple((key, value) for key, value in keys.items() if value),
        guides=GUIDES,
        outline=OUTLINE,
        drawing=DRAWING,
    )
    text = model_recipe(said)
    loaded = load_recipe(Path(target), text)
    relief = loaded.bench.reliefs[0]
    if relief is None:
        raise TypeError("the recipe names a model")
    show.print_findings(loaded.models.findings, as_json=json, quiet=quiet, verbose=not quiet)
    svg = template_svg(relief, Path(model).name)
    files.write_outputs([(target, text.encode()), (drawing, svg)], as_json=json, quiet=quiet)
    if not quiet and not json:
        show.print_sentence(
            f"draw in the group {DRAWING!r} of {drawing}, inside the dashed line; then "
            f"`evenmark check {target}`"
        )
    show.print_cautions(as_json=json, quiet=quiet)
