"""Input of a command: a recipe with its drawing, or a drawing that a recipe is measured on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from preprocess.cli import files, show
from preprocess.errors import Place, wrong

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.cli.files import DrawingFile
    from preprocess.recipe.load import LoadedRecipe

_DRAWINGS = frozenset({".svg", ".svgz"})
_FORMATS = {
    **dict.fromkeys((".png", ".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".tif", ".tiff"), "pixels"),
    **dict.fromkeys((".pdf", ".ai", ".eps", ".dxf", ".cdr"), "another format"),
}
NONE_NAMED = "name a drawing or a recipe, such as fern.svg or fern.yaml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A recipe and its drawing, ready to be worked on.

    `written` is the recipe's text; `path` its file, or where it would lie beside the drawing.
    `named` is what the person called it.
    """

    loaded: LoadedRecipe
    drawing: DrawingFile
    written: str
    path: Path | None
    named: str
    measured: bool = False

    @property
    def text(self) -> str:
        """The recipe's text with all that it extends and that the command set."""
        from preprocess.recipe.load import whole_text

        return whole_text(self.path, self.written, self.loaded.changes)

    @property
    def recipe_name(self) -> str:
        """What to call the recipe in a command; a measured one as `start` would write it."""
        if not self.measured:
            return self.named
        return "RECIPE" if self.path is None else str(self.path)

    @property
    def inputs(self) -> list[Path | None]:
        """All files that were read; outputs must not overwrite them."""
        return [*self.loaded.read_files, self.drawing.path]


def open_job(
    first: str | None,
    second: str | None = None,
    changes: Sequence[str] = (),
    *,
    quiet: bool = False,
    columns: bool = False,
    no_heat: bool = False,
) -> Job:
    """Load what the command names: a recipe, a drawing, or both in either order.

    A drawing alone gets a recipe measured on it, which is told. Texts that come from columns are
    refused, unless `columns` says that no word of them matters. `no_heat` leaves out steps that
    predict heat only to set powers.

    Raises:
        UserError: every mistake in the recipe, or there is no drawing.
    """
    if first is None:
        raise typer.BadParameter(NONE_NAMED)
    if is_drawing(first):
        if second is None:
            return _heatless(_measured(first, changes, quiet=quiet), no_heat=no_heat)
        if is_drawing(second):
            remedy = f"name a recipe and one drawing, or make both with evenmark series {first} …"
            raise wrong("two drawings are named, and no recipe", remedy, place=Place(second))
        first, second = second, first
    job = _with_recipe(first, second, changes)
    if not columns:
        from preprocess.recipe.text_rules import expect_no_columns

        expect_no_columns(job.loaded.recipe, first)
    return _heatless(job, no_heat=no_heat)


def _heatless(job: Job, *, no_heat: bool) -> Job:
    return replace(job, loaded=job.loaded.without_solving()) if no_heat else job


def is_drawing(name: str) -> bool:
    """Test whether an argument names a drawing, not a recipe, by its ending."""
    return Path(name).suffix.lower() in _DRAWINGS


def _with_recipe(recipe: str, design: str | None, changes: Sequence[str]) -> Job:
    if recipe == files.STREAM == design:
        raise wrong("recipe and drawing cannot both come from standard input", "name one of them")
    for name in (recipe, design or ""):
        expect_right_format(name)
    from preprocess.recipe.load import load_recipe

    path = None if recipe == files.STREAM else Path(recipe)
    text = files.read_recipe(recipe)
    loaded = load_recipe(path, text, design, changes)
    if loaded.design is None:
        remedy = "put design: FILE.svg in the recipe, or name the drawing after the recipe"
        raise wrong("the recipe names no design", remedy, place=Place(recipe))
    drawing = files.read_drawing(loaded.design, loaded.options.limits)
    return Job(loaded=loaded, drawing=drawing, written=text, path=path, named=recipe)


def expect_right_format(name: str) -> None:
    """Refuse pictures and drawings of other formats by their ending, before YAML is blamed.

    Raises:
        UserError: it is one.
    """
    kind = _FORMATS.get(Path(name).suffix.lower())
    if kind and Path(name).is_file():
        found = "this is a picture of pixels" if kind == "pixels" else "this is no SVG"
        remedy = "trace it" if kind == "pixels" else "open it in a drawing program"
        raise wrong(found, f"{remedy}, and save it as plain SVG", place=Place(name))


def _measured(design: str, changes: Sequence[str], *, quiet: bool) -> Job:
    """A drawing with a recipe measured on it, in memory."""
    drawing = files.read_drawing(design)
    job = measured_job(drawing, changes)
    if not quiet:
        show.print_sentence(measured_words(job))
    return job


def measured_words(job: Job) -> str:
    """That a recipe was measured, and how to keep it, or to take the one beside the drawing."""
    if job.path is not None and job.path.is_file():
        there = f"name {job.path.name} to take the one there"
        return f"no recipe is named, so one was measured; {there}"
    return f"no recipe is named, so one was measured; evenmark start {job.named} writes it down"


def measured_job(drawing: DrawingFile, changes: Sequence[str]) -> Job:
    """The job of the recipe that `start` would write for a drawing; its own file is left alone."""
    from preprocess.recipe.load import load_recipe
    from preprocess.recipe.starter.drawing_measures import measure_drawing
    from preprocess.recipe.starter.first_recipe import first_recipe

    found = measure_drawing(drawing.data, drawing.name)
    path = None if drawing.path is None else drawing.path.with_suffix(".yaml")
    design = None if drawing.path is None else drawing.path.name
    text = first_recipe(found, design, drawing.title)
    loaded = load_recipe(path, text, drawing.name, changes)
    read = tuple(file for file in loaded.read_files if file != path)
    return Job(
        loaded=replace(loaded, read_files=read),
        drawing=drawing,
        written=text,
        path=path,
        named=drawing.name,
        measured=True,
    )
