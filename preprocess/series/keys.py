"""Hash of all that an output depends on; the same hash means that nothing is made again."""

from __future__ import annotations

import json
from dataclasses import asdict
from functools import cache
from importlib.metadata import PackageNotFoundError, packages_distributions, version
from typing import TYPE_CHECKING

from preprocess import __version__
from preprocess.write.digest import sha256_hex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preprocess.recipe.load import LoadedRecipe
    from preprocess.series.designs import SeriesDesign
    from preprocess.series.tasks import Products

_OURS = __name__.partition(".")[0]
_LIBRARIES = ("lxml", "numpy", "pyclipper", "scipy", "shapely", "skia-pathops")


def key_of_recipe(loaded: LoadedRecipe, wants: Products, files: Iterable[tuple[str, bytes]]) -> str:
    """Key of a series: a hash of all that its designs share.

    That is: recipe, machine and filament files, wanted products, the packages of its passes, and
    the versions of evenmark and of the libraries that reckon.

    Args:
        loaded: the recipe.
        wants: products.
        files: name and content of each file that the recipe is made of.
    """
    known = {
        "recipe": loaded.as_run,
        "files": [[name, sha256_hex(data)] for name, data in files],
        "wants": asdict(wants),
        "evenmark": __version__,
        "libraries": {name: _version(name) for name in _LIBRARIES},
        "passes": [[step.name, *_package(type(step.params).__module__)] for step in loaded.steps],
    }
    return sha256_hex(json.dumps(known, sort_keys=True, default=str).encode())


def key_of_design(shared: str, data: bytes, design: SeriesDesign) -> str:
    """Key of one design: the shared key, its own bytes, its texts and its name.

    A label stays the same wherever its row stands in the table.
    """
    said = [*map(asdict, design.texts), *map(asdict, design.seats)]
    row = json.dumps([design.title, said], sort_keys=True)
    return sha256_hex(f"{shared} {sha256_hex(data)} {row}".encode())


def _package(module: str) -> list[str]:
    """The packages that offer a module, with their versions; our own version is known anyway."""
    top = module.partition(".")[0]
    names = [] if top == _OURS else sorted(set(_offering().get(top, ())))
    return [f"{name} {_version(name)}" for name in names]


@cache
def _offering() -> Mapping[str, list[str]]:
    """Packages by module; every installed one is opened for it."""
    return packages_distributions()


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "not installed"
