"""``evenmark start --model``: a recipe for a part that is known by its model, and a drawing."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.cli import files
from preprocess.errors import Place, wrong

if TYPE_CHECKING:
    from preprocess.findings import Finding


@dataclass(frozen=True, slots=True)
class ModelFiles:
    """What is to be written for a model: recipe and drawing with their bytes, and what to tell."""

    outputs: tuple[tuple[str, bytes], ...]
    findings: tuple[Finding, ...]
    next_step: str


def files_for_model(
    model: str, out: str, keys: dict[str, str], machine: str, *, replace: bool
) -> ModelFiles:
    """A recipe for a model, and the drawing to draw on beside it.

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
    return ModelFiles(
        outputs=((target, text.encode()), (drawing, template_svg(relief, Path(model).name))),
        findings=loaded.models.findings,
        next_step=f"draw in the group {DRAWING!r} of {drawing}, inside the dashed line; then "
        f"`evenmark check {target}`",
    )
