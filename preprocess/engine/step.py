"""One step of a recipe: a pass with its typed parameters and their places in the file."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preprocess.errors import Place

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.engine.contract import Params
    from preprocess.loading.yaml.yaml_document import KeyPath

_PLACE = Place("recipe")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One pass of the recipe with its parameters.

    `place` is where the recipe names it, `path` its keys from the root of the file, `keys` the
    places of its parameters.
    """

    name: str
    params: Params
    place: Place = _PLACE
    path: KeyPath = ()
    keys: Mapping[str, Place] = field(default_factory=dict)
