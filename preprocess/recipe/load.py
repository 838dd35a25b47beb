"""A recipe with all that it names: typed passes, machine, filament, what the reader must know."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from preprocess.engine.step import Step
from preprocess.errors import Complaint, UserError
from preprocess.loading.schema.plain_data import nested_declared, plain_data
from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.yaml.mapping import document_from_mapping
from preprocess.loading.yaml.text_files import read_text
from preprocess.loading.yaml.yaml_document import YamlDocument, parse_yaml
from preprocess.loading.yaml.yaml_text import yaml_text
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.anchors import Anchors
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from preprocess.model.options.reading import ReadingOptions
from preprocess.model.options.shades import Shades
from preprocess.recipe.changed import with_changes
from preprocess.recipe.extended import RecipeDocument, with_base
from preprocess.recipe.extra_rules import extra_complaints
from preprocess.recipe.machine_rules import image_complaints
from preprocess.recipe.named_files import read_named
from preprocess.recipe.part_models import PartModels, read_part_models
from preprocess.recipe.recipe_keys import Recipe
from preprocess.recipe.rules import font_folder_complaints, rule_complaints
from preprocess.recipe.text_rules import seats_of_serial, texts_of_row
from preprocess.recipe.typed_steps import (
    SOLVES,
    notes_of_steps_off,
    read_steps,
    warnings_of_unsolved,
)
from preprocess.write.guides.own_marks import OwnMarks

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from preprocess.findings import Finding
    from preprocess.model.options.lettering import Seat

__all__ = ["LoadedRecipe", "Step", "load_recipe", "recipe_from_mapping"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedRecipe:
    """A recipe that is right in itself; whether its order fits a drawing is proved in `plan`.

    `design` is None when neither the recipe nor the command names one, and "-" for standard
    input. `read_files` are all files read, for a Makefile. `as_run` is plain data with units.
    `seats` are those of a tray whose labels differ. `changes` are the values that the command set;
    `steps_off` are switched off; `unsolved` are left out by a run without heat. `models` is what
    models of parts came to.
    """

    recipe: Recipe
    steps: tuple[Step, ...]
    machine: Machine | None
    filament: Filament | None
    design: Path | None
    options: ReadingOptions
    read_files: tuple[Path, ...]
    as_run: dict[str, Any]
    seats: tuple[Seat, ...] = ()
    changes: tuple[str, ...] = ()
    steps_off: tuple[Step, ...] = ()
    unsolved: tuple[Step, ...] = ()
    models: PartModels = PartModels()

    @property
    def notes(self) -> list[Finding]:
        """Notes for a person on the recipe itself."""
        steps = [*notes_of_steps_off(self.steps_off), *warnings_of_unsolved(self.unsolved)]
        return [*steps, *self.models.findings]

    def without_solving(self) -> LoadedRecipe:
        """The recipe without steps that predict heat only to set powers; it warns of each."""
        unsolved = tuple(step for step in self.steps if step.name == SOLVES)
        steps = tuple(step for step in self.steps if step.name != SOLVES)
        as_run = {**self.as_run, "passes": _as_passes(steps)}
        return replace(self, steps=steps, unsolved=unsolved, as_run=as_run)

    @property
    def bench(self) -> Bench:
        """Machine, filament and parts that the recipe names."""
        return Bench(
            machine=self.machine,
            filament=self.filament,
            parts=self.options.parts,
            reliefs=self.options.reliefs,
        )

    @property
    def own_marks(self) -> OwnMarks:
        """Marks of ours that the recipe, or else the machine file, asks for."""
        said = self.recipe.anchors
        if said is None and self.machine is not None:
            said = self.machine.anchors
        anchors = said if isinstance(said, Anchors) else Anchors() if said else None
        recipe = self.recipe
        return OwnMarks(squares=recipe.check_square, anchors=anchors, settings=recipe.settings)


def load_recipe(
    path: Path | None,
    text: str | None = None,
    design: str | None = None,
    changes: Sequence[str] = (),
) -> LoadedRecipe:
    """Load a recipe and what it names.

    Args:
        path: the recipe's file; None when the text came through a pipe.
        text: the text of the recipe; read from `path` unless given.
        design: the drawing named by the command, instead of the recipe's own.
        changes: values set by the command, such as ``settings.engrave.power=50%``.

    Raises:
        UserError: every complaint about the recipe, its machine, filament and passes.
    """
    if text is None:
        text = read_text(path or Path("-"))
    folder = path.parent if path else Path()
    held = _document(text, path, changes)
    loaded = _loaded(held.document, folder, design)
    files = (*((path,) if path else ()), *held.files, *loaded.read_files)
    return replace(loaded, read_files=files, changes=tuple(changes))


def whole_text(path: Path | None, text: str, changes: Sequence[str] = ()) -> str:
    """The text of a recipe with what it extends and what the command set written into it.

    Text that neither extends nor is changed stays as it is, comments and all.

    Raises:
        UserError: as `load_recipe`, of what is extended or set.
    """
    held = _document(text, path, changes)
    if not (held.files or changes):
        return text
    return yaml_text(held.document.data)


def _document(text: str, path: Path | None, changes: Sequence[str]) -> RecipeDocument:
    folder = path.parent if path else Path()
    document = parse_yaml(text, str(path) if path else "<standard input>")
    return with_changes(with_base(document, path, folder), changes, folder)


def recipe_from_mapping(mapping: Mapping[str, Any], *, folder: Path | None = None) -> LoadedRecipe:
    """Load a recipe from a Python mapping that holds what its YAML would.

    Args:
        mapping: keys and plain values, such as ``{"recipe": 1, "passes": ["merge"]}``.
        folder: where the files that it names are found; the current folder unless given.

    Raises:
        UserError: every complaint, with places such as ``recipe: passes[2].merge``.
    """
    document = document_from_mapping(mapping, "recipe")
    place = Path() if folder is None else folder
    held = with_base(document, None, place)
    loaded = _loaded(held.document, place, None)
    return replace(loaded, read_files=(*held.files, *loaded.read_files))


def _loaded(document: YamlDocument, folder: Path, design: str | None) -> LoadedRecipe:
    recipe, steps, complaints = _read(document)
    machine, machine_files = read_named(Machine, "machine", document, folder, complaints)
    filament, filament_files = read_named(Filament, "filament", document, folder, complaints)
    if recipe is not None:
        complaints += rule_complaints(recipe, steps, document)
        for root, path in ((recipe, ()), *((step.params, step.path) for step in steps)):
            complaints += extra_complaints(root, path, machine, document)
        complaints += image_complaints(recipe.drawing, machine, document)
        complaints += font_folder_complaints(recipe, folder, document)
    if complaints or recipe is None:
        raise UserError(_by_place(complaints))
    models = read_part_models(recipe.parts, machine, folder)
    off = tuple(step for step in steps if step.params.off)
    steps = tuple(step for step in steps if not step.params.off)
    return LoadedRecipe(
        recipe=recipe,
        steps=steps,
        steps_off=off,
        machine=machine,
        filament=filament,
        design=_design(recipe, folder, design),
        options=replace(
            _reading_options(recipe, steps, folder),
            parts=models.parts,
            reliefs=models.reliefs,
            machine=machine,
        ),
        read_files=(*machine_files, *filament_files, *models.files),
        models=models,
        as_run=_as_run(recipe, steps, machine, filament),
        seats=seats_of_serial(recipe, steps),
    )


def _read(document: YamlDocument) -> tuple[Recipe | None, tuple[Step, ...], list[Complaint]]:
    """The recipe without its passes and files, which are checked by themselves."""
    data = dict(document.data)
    held = data.pop("passes", [])
    steps, complaints = read_steps(document, held)
    recipe, others = read_declared(Recipe, document, (), data)
    if recipe is not None and isinstance(held, list):
        recipe = replace(recipe, passes=tuple(held))
    return recipe, steps, [*others, *complaints]


def _design(recipe: Recipe, folder: Path, design: str | None) -> Path | None:
    if design is not None:
        return Path(design)
    return folder / recipe.design if recipe.design else None


def _reading_options(recipe: Recipe, steps: tuple[Step, ...], folder: Path) -> ReadingOptions:
    fonts = recipe.fonts
    if fonts.folder is not None:
        fonts = replace(fonts, folder=str(folder / fonts.folder))
    return ReadingOptions(
        drawing=recipe.drawing,
        fonts=fonts,
        limits=recipe.limits,
        texts=texts_of_row(recipe.text),
        shades=recipe.shades if isinstance(recipe.shades, Shades) else Shades(),
        layers=recipe.layers,
        settings=recipe.settings,
        keep_off=recipe.keep_off,
        selectors=frozenset(_selectors(recipe, steps)),
    )


def _selectors(recipe: Recipe, steps: tuple[Step, ...]) -> Iterable[str]:
    """All CSS selectors that occur anywhere in the recipe, in parameters of plugins too."""
    yield from recipe.keep_off
    for part in recipe.parts:
        yield from (text for text in (part.drawn, part.guides) if text is not None)
    for root in (recipe, *(step.params for step in steps)):
        for _, value in nested_declared(root):
            if isinstance(value, Selection) and value.select is not None:
                yield value.select


def _as_run(
    recipe: Recipe, steps: tuple[Step, ...], machine: Machine | None, filament: Filament | None
) -> dict[str, Any]:
    said = plain_data(recipe)
    said |= {"machine": plain_data(machine)} if machine else {}
    said |= {"filament": plain_data(filament)} if filament else {}
    return {**said, "passes": _as_passes(steps)}


def _as_passes(steps: tuple[Step, ...]) -> list[dict[str, Any]]:
    return [{step.name: plain_data(step.params)} for step in steps]


def _by_place(complaints: list[Complaint]) -> list[Complaint]:
    """In the order of the files, then of their lines; what has no place comes first."""

    def key(complaint: Complaint) -> tuple[str, int, int]:
        place = complaint.place
        return (place.file, place.line or 0, place.column or 0) if place else ("", 0, 0)

    return sorted(dict.fromkeys(complaints), key=key)
