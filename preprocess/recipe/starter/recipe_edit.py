"""A recipe's text with other settings and passes; the rest stays as a person wrote it."""

from __future__ import annotations

from dataclasses import dataclass, field
from io import StringIO
from typing import TYPE_CHECKING, Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from preprocess.loading.yaml.text_files import relative_path
from preprocess.loading.yaml.yaml_text import one_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

_FILES = "design", "machine", "filament"
"""Keys that may name a file beside the recipe."""

_WIDE = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeEdit:
    """Changes to a recipe: settings of operations as a recipe writes them, and all passes.

    `one_layer` takes out the engraved layers, so that all areas are the one layer of what no rule
    chose.
    """

    engrave: Mapping[str, str] = field(default_factory=dict)
    score: Mapping[str, str] = field(default_factory=dict)
    passes: tuple[Any, ...] = ()
    one_layer: bool = False


def rewrite_recipe(text: str, edit: RecipeEdit) -> str:
    """The text of a recipe with an edit made.

    Settings hold for all layers of their operation: what a layer says otherwise is taken out.
    Layers that are scored keep theirs: settings of scoring are meant for rows of our own.
    Comments among the passes go with them.

    Args:
        text: of a recipe that can be loaded.
        edit: what is to be different.
    """
    data = _yaml().load(text)
    if edit.score:
        _keep_scored(data, edit.score)
    for operation, settings in _changes(edit).items():
        _set(data, operation, settings)
    if edit.one_layer:
        _join_engraved(data)
    data["passes"] = _steps(edit.passes)
    return _text(data)


def _join_engraved(data: CommentedMap) -> None:
    kept = [rule for rule in data.get("layers", ()) if rule.get("operation") != "engrave"]
    if kept:
        data["layers"] = CommentedSeq(kept)
    else:
        data.pop("layers", None)


def name_design(text: str, design: str) -> str:
    """The text with another drawing named, beside the recipe."""
    data = _yaml().load(text)
    if "design" in data:
        data["design"] = design
    else:
        data.insert(min(1, len(data)), "design", design)
    return _text(data)


def move_recipe(text: str, folder: Path, to: Path) -> str:
    """The text with each file that it names beside it found from another folder."""
    data = _yaml().load(text)
    for key in _FILES:
        held = data.get(key)
        if isinstance(held, str):
            data[key] = relative_path(folder / held, to)
    return _text(data)


def edit_lines(edit: RecipeEdit) -> str:
    """An edit alone, as lines to paste into a recipe."""
    data = CommentedMap()
    if changes := _changes(edit):
        data["settings"] = CommentedMap((key, one_line(held)) for key, held in changes.items())
    data["passes"] = _steps(edit.passes)
    return _text(data)


def _changes(edit: RecipeEdit) -> dict[str, Mapping[str, str]]:
    both = {"engrave": edit.engrave, "score": edit.score}
    return {operation: settings for operation, settings in both.items() if settings}


def _set(data: CommentedMap, operation: str, settings: Mapping[str, str]) -> None:
    held = CommentedMap((data.get("settings") or {}).items())
    old = held.get(operation) or {}
    held[operation] = one_line({**old, **settings})
    if "settings" in data:
        data["settings"] = held
    else:
        data.insert(_place_of(data, "passes"), "settings", held)
    for rule in data.get("layers") or () if operation == "engrave" else ():
        if rule.get("operation") == operation and rule.get("settings"):
            left = {k: v for k, v in rule["settings"].items() if k not in settings}
            if left:
                rule["settings"] = one_line(left)
            else:
                del rule["settings"]


def _keep_scored(data: CommentedMap, changed: Iterable[str]) -> None:
    """Write the settings of scoring into the layers that are scored, before they change."""
    own = (data.get("settings") or {}).get("score") or {}
    own = {key: value for key, value in own.items() if key in changed}
    for rule in data.get("layers") or () if own else ():
        if rule.get("operation") == "score":
            rule["settings"] = one_line({**own, **(rule.get("settings") or {})})


def _place_of(data: CommentedMap, key: str) -> int:
    return list(data).index(key) if key in data else len(data)


def _steps(passes: Iterable[Any]) -> CommentedSeq:
    return CommentedSeq(_step(entry) for entry in passes)


def _step(entry: Any) -> Any:
    if isinstance(entry, str):
        return entry
    ((name, parameters),) = entry.items()
    return CommentedMap({name: one_line(parameters)}) if parameters else name


def _yaml() -> YAML:
    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = _WIDE
    yaml.indent(mapping=2, sequence=4, offset=2)
    return yaml


def _text(data: CommentedMap) -> str:
    stream = StringIO()
    _yaml().dump(data, stream)
    return stream.getvalue()
