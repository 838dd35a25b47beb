"""A Python mapping as a document: plain values, each placed by its keys, such as a.b[2]."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from preprocess.errors import Complaint, Place, UserError
from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument

_DEEPEST = 50


def document_from_mapping(mapping: Mapping[str, Any], name: str) -> YamlDocument:
    """Copy a mapping and note the place of each value in it.

    Args:
        mapping: keys and values as YAML gives them: texts, numbers, true and false, lists and
            mappings; tuples count as lists.
        name: what messages call the whole, such as "recipe".

    Raises:
        UserError: every value that YAML cannot hold, and every key that is no text.
    """
    copy = _Copy(name)
    data = copy.of(mapping, ())
    if copy.complaints:
        raise UserError(copy.complaints)
    return YamlDocument(name, data, keys=copy.places, values=copy.places, subject=f"the {name}")


class _Copy:
    """Copies plain values and notes where each stands."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.places: dict[KeyPath, Place] = {}
        self.complaints: list[Complaint] = []

    def of(self, value: Any, path: KeyPath) -> Any:
        self.places[path] = place = Place(_written(self.name, path))
        if len(path) > _DEEPEST:
            remedy = "give values that do not hold themselves"
            raise UserError(Complaint("the values are nested too deeply", remedy, place))
        if isinstance(value, Mapping):
            odd = [key for key in value if not isinstance(key, str)]
            self.complaints += [_odd_key(key, place) for key in odd]
            return {str(key): self.of(inner, (*path, str(key))) for key, inner in value.items()}
        if isinstance(value, list | tuple):
            return [self.of(inner, (*path, number)) for number, inner in enumerate(value)]
        if isinstance(value, str):
            return str(value)
        if value is not None and not isinstance(value, bool | int | float):
            found = f"a value of the Python type {type(value).__name__} stands here"
            remedy = "give a text, a number, true, false, a list or a mapping"
            self.complaints.append(Complaint(found, remedy, place))
        return value


def _odd_key(key: object, place: Place) -> Complaint:
    return Complaint(f"the key {key!r} is no text", f"write it as a text: '{key}'", place)


def _written(name: str, path: KeyPath) -> str:
    """A path as one writes it, such as ``recipe: passes[2].merge``."""
    steps = (f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)
    written = "".join(steps).removeprefix(".")
    return f"{name}: {written}" if written else name
