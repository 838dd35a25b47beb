"""Machine and filament of a recipe: written out in it, or read from the file that it names."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from preprocess.errors import Complaint, UserError, wrong
from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.yaml.text_files import path_exists
from preprocess.loading.yaml.yaml_document import YamlDocument, load_yaml
from preprocess.model.bench.machine import Machine
from preprocess.model.declared import Declared
from preprocess.recipe.extra_rules import declaration_complaints
from preprocess.recipe.machine_rules import grey_complaints, palette_complaints, range_complaints
from preprocess.recipe.rules import format_complaints

if TYPE_CHECKING:
    from pathlib import Path

_DeclaredT = TypeVar("_DeclaredT", bound=Declared)


def read_named(
    cls: type[_DeclaredT],
    key: str,
    document: YamlDocument,
    folder: Path,
    complaints: list[Complaint],
) -> tuple[_DeclaredT | None, tuple[Path, ...]]:
    """A machine or filament, from the recipe itself or from the file it names."""
    held = document.data.get(key)
    if not isinstance(held, str | dict):
        return None, ()
    files: tuple[Path, ...] = ()
    path: tuple[str, ...] = (key,)
    try:
        if isinstance(held, str):
            files, path = (folder / held,), ()
            document = load_yaml(_file(held, key, document, folder), place=document.at((key,)))
            held = document.data
            value, found = read_declared(cls, document)
            complaints += found
        else:
            value, _ = read_declared(cls, document, path, held)
    except UserError as error:
        complaints += error.complaints
        return None, ()
    complaints += format_complaints(value, key, document, path)
    if value is not None:
        complaints += range_complaints(value, document, path)
    if isinstance(value, Machine):
        complaints += palette_complaints(value, document, path)
        complaints += grey_complaints(value, document, path)
        complaints += declaration_complaints(value, document, path)
    return value, files


def _file(held: str, key: str, document: YamlDocument, folder: Path) -> Path:
    """The file that a text names; a text that looks like no file is told how to be a name."""
    path = folder / held
    if not path_exists(path) and path.suffix.lower() not in {".yaml", ".yml"}:
        found = f"{key} is {held!r}, and there is no such file"
        remedy = f"name a file, or write it out: {key}: {{name: '{held}'}}"
        raise wrong(found, remedy, place=document.at((key,)))
    return path
