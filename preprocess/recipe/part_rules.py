"""Rules between the keys of a part: outline or model, and where the model lies."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

from preprocess.errors import Complaint
from preprocess.model.bench.part import Part, PartPlace

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument
    from preprocess.recipe.recipe_keys import Recipe

_OF_MODELS = ("up", "at", "unit", "body", "place", "guides", "in_focus", "slant", "keep_off")
_DEFAULTS = {field.name: field.default for field in fields(Part)}


def placed_parts(recipe: Recipe) -> Iterator[tuple[Part, KeyPath]]:
    """Each part with its place in the file."""
    several = isinstance(recipe.part, tuple)
    for number, part in enumerate(recipe.parts):
        yield part, ("part", number) if several else ("part",)


def part_complaints(recipe: Recipe, document: YamlDocument) -> Iterator[Complaint]:
    """Complaints about keys of parts that do not go together."""
    for part, path in placed_parts(recipe):
        at = document.at(path)
        if part.model is None and part.outline is None:
            found = "the part has neither an outline nor a model"
            yield Complaint(found, "write outline: '#id-of-the-outline', or model: label.stl", at)
        if part.model is None:
            for key in _OF_MODELS:
                if getattr(part, key) != _DEFAULTS[key]:
                    found = f"{key} belongs to a model, and the part names none"
                    remedy = f"delete it, or add model: label.stl beside {key}"
                    yield Complaint(found, remedy, document.at((*path, key)))
            continue
        if part.outline is not None:
            found = "the part has an outline and a model, which gives its outline"
            remedy = "delete outline, or lay the model under it: place: {outline: '#id'}"
            yield Complaint(found, remedy, document.at((*path, "outline")))
        yield from _place(part.place, document, (*path, "place"))


def _place(place: PartPlace, document: YamlDocument, path: KeyPath) -> Iterator[Complaint]:
    ways = [key for key in ("outline", "centre", "corner") if getattr(place, key) is not None]
    if len(ways) > 1:
        found = f"place says {' and '.join(ways)}, and one of them is enough"
        yield Complaint(found, "delete the others", document.at(path))
    if (place.corner is None) != (place.on is None):
        found = "place needs corner and on together"
        remedy = "write for example place: {corner: upper left, on: [10 mm, 10 mm]}"
        yield Complaint(found, remedy, document.at(path))
