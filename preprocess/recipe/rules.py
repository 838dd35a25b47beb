"""Rules between values of a recipe that are each right by themselves."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import cssselect2

from preprocess.errors import Complaint
from preprocess.loading.schema.plain_data import nested_declared
from preprocess.loading.yaml.text_files import path_exists
from preprocess.model.artwork.source import Selection
from preprocess.model.options.reading import DEFAULT_LAYER
from preprocess.model.options.shades import Shades
from preprocess.read.style.selector_matcher import compile_selectors
from preprocess.recipe.machine_rules import COLOUR
from preprocess.recipe.part_rules import part_complaints, placed_parts
from preprocess.recipe.recipe_keys import RECIPE_FORMAT
from preprocess.recipe.text_rules import text_complaints, tray_complaints

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preprocess.engine.step import Step
    from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument
    from preprocess.model.declared import Declared
    from preprocess.recipe.recipe_keys import Recipe

_ODD_ID = re.compile(r"#[\w.: -]+")
"""An id that CSS takes only as an attribute, since it starts with a digit or the like."""


def rule_complaints(
    recipe: Recipe, steps: tuple[Step, ...], document: YamlDocument
) -> list[Complaint]:
    """Every rule that is broken, with its place."""
    found = [*format_complaints(recipe, "recipe", document, ())]
    found += _layers(recipe, document)
    found += _colours(recipe, document)
    found += _shades(recipe, document)
    found += _choices(recipe, (), document)
    found += _selectors(recipe, document)
    found += part_complaints(recipe, document)
    found += [*text_complaints(recipe, document), *tray_complaints(recipe, steps)]
    for step in steps:
        found += _choices(step.params, step.path, document)
        if step.params.only is not None and step.params.only == step.params.except_:
            remedy = "delete one of the two"
            found.append(Complaint("only and except choose the same shapes", remedy, step.place))
    return found


def format_complaints(
    value: Declared | None, key: str, document: YamlDocument, path: KeyPath
) -> Iterator[Complaint]:
    """A complaint when a file is written in a format of another version."""
    version = getattr(value, key, RECIPE_FORMAT)
    if version != RECIPE_FORMAT:
        found = f"{key} is {version}, a format that this evenmark does not read"
        yield Complaint(found, f"write {key}: {RECIPE_FORMAT}", document.at((*path, key)))


def font_folder_complaints(
    recipe: Recipe, folder: Path, document: YamlDocument
) -> Iterator[Complaint]:
    """A complaint when the folder of fonts is none; `folder` is the recipe's own."""
    name = recipe.fonts.folder
    if name is not None and not path_exists(folder / name, folder=True):
        found = f"fonts: folder is {name!r}, and there is no such folder"
        remedy = "make it beside the recipe and put the font files into it, or correct its name"
        yield Complaint(found, remedy, document.at(("fonts", "folder")))


def _layers(recipe: Recipe, document: YamlDocument) -> Iterator[Complaint]:
    seen: dict[str, int] = {}
    for number, rule in enumerate(recipe.layers):
        place = document.at(("layers", number, "name"))
        if rule.name == DEFAULT_LAYER or not rule.name.strip():
            found = f"a layer is called {rule.name!r}"
            remedy = f"give it a name of its own; {DEFAULT_LAYER} is what no rule chose"
            yield Complaint(found, remedy, place)
        elif rule.name in seen:
            found = f"two layers are called {rule.name!r}, the first is entry {seen[rule.name] + 1}"
            yield Complaint(found, "give each its own name", place)
        seen.setdefault(rule.name, number)


def _colours(recipe: Recipe, document: YamlDocument) -> Iterator[Complaint]:
    for name, colour in recipe.colours.items():
        if not COLOUR.fullmatch(colour):
            place = document.at(("colours", name))
            remedy = "write six hex digits in quotes, such as '#0072b2'"
            yield Complaint(f"{name} is {colour!r}, not a colour", remedy, place)


def _shades(recipe: Recipe, document: YamlDocument) -> Iterator[Complaint]:
    shades = recipe.shades
    if not isinstance(shades, Shades):
        return
    place = document.at(("shades",))
    if shades.bands is not None and shades.threshold is not None:
        yield Complaint("shades has bands and threshold", "delete one of the two", place)
    elif shades.is_solid and shades.flat_fills:
        remedy = "add bands: 4 or threshold: 50 %, or delete flat_fills"
        yield Complaint("shades has flat_fills, but neither bands nor threshold", remedy, place)


def _choices(root: Declared, path: KeyPath, document: YamlDocument) -> Iterator[Complaint]:
    for inner, value in nested_declared(root, path):
        if not isinstance(value, Selection):
            continue
        if value.is_empty:
            remedy = "name a label, a colour or a selector; quote it: '#id' (a bare # is a comment)"
            yield Complaint(f"{inner[-1]} chooses nothing", remedy, document.at_key(inner))
        elif value.select is not None:
            yield from _selector(value.select, (*inner, "select"), document)


def _selectors(recipe: Recipe, document: YamlDocument) -> Iterator[Complaint]:
    for number, text in enumerate(recipe.keep_off):
        yield from _selector(text, ("keep_off", number), document)
    for number, rule in enumerate(recipe.text):
        yield from _selector(rule.element, ("text", number, "element"), document)
    for part, path in placed_parts(recipe):
        if isinstance(part.outline, str):
            yield from _selector(part.outline, (*path, "outline"), document)
        if part.guides is not None:
            yield from _selector(part.guides, (*path, "guides"), document)
        if part.place.outline is not None:
            yield from _selector(part.place.outline, (*path, "place", "outline"), document)


def _selector(text: str, path: KeyPath, document: YamlDocument) -> Iterator[Complaint]:
    try:
        compile_selectors(text)
    except cssselect2.SelectorError:
        remedy = "write a CSS selector, such as '#id', '.class' or 'path'"
        if _ODD_ID.fullmatch(text):
            remedy = f"write it as \"[id='{text[1:]}']\""
        yield Complaint(f"{text!r} is no CSS selector", remedy, document.at(path))
