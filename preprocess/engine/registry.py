"""Registry of passes: lists names without importing, and imports a pass on request.

Built-in passes and those of other packages are entry points of the group ``preprocess.passes``.
A broken package matters only to a recipe that names it.
"""

from __future__ import annotations

import ast
import importlib.util
import sys
from difflib import get_close_matches
from functools import lru_cache
from importlib.machinery import PathFinder
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import TYPE_CHECKING

from preprocess.engine.contract import API_VERSION, Contract, Params
from preprocess.errors import Place, UserError, wrong

if TYPE_CHECKING:
    from importlib.machinery import ModuleSpec

    from preprocess.engine.facts import Fact

_GROUP = "preprocess.passes"


def pass_names() -> tuple[str, ...]:
    """Names of all passes, in alphabetical order; imports none of them."""
    return tuple(sorted(_offers()))


def load_pass(name: str, *, place: Place | None = None) -> type[Params]:
    """Import one pass.

    Args:
        name: as in the recipe.
        place: where the recipe names it.

    Raises:
        UserError: no such pass, two packages offer it, or its package is broken or too old.
    """
    offers = _offers().get(name)
    if offers is None:
        raise wrong(f"there is no pass {name!r}", _known(name), place=place)
    if len(offers) > 1:
        both = " and ".join(_package(entry) for entry in offers)
        found = f"{both} both offer a pass {name!r}"
        raise wrong(found, "remove one of the two packages", place=place)
    return _imported(offers[0], place)


def built_in_names() -> tuple[str, ...]:
    """Names of the passes that come with evenmark, in alphabetical order; imports none of them."""
    return tuple(sorted(name for name, offers in _offers().items() if any(map(_is_ours, offers))))


def passes_giving(fact: Fact) -> tuple[str, ...]:
    """The built-in passes that give a fact; imports them, for a message that names them."""
    built_in = [offers[0] for offers in _offers().values() if _is_ours(offers[0])]
    return tuple(sorted(entry.name for entry in built_in if _gives(entry, fact)))


def _is_ours(entry: EntryPoint) -> bool:
    return entry.module.startswith(f"{_GROUP}.")


def _gives(entry: EntryPoint, fact: Fact) -> bool:
    try:
        return fact in _imported(entry, None).contract.gives
    except UserError:
        return False


def pass_summary(name: str) -> str:
    """Purpose of a pass in one line, read from its source without running it.

    A pass that two packages offer, or whose source cannot be read, says so instead.
    """
    offers = _offers()[name]
    if len(offers) > 1:
        return f"offered by {' and by '.join(map(_package, offers))}: remove one of them"
    [only] = offers
    return _first_line(only.module, only.attr) or f"cannot be read: install {_package(only)} anew"


def _first_line(module: str, name: str) -> str:
    """The first line of a class, followed from the front of a folder to the file that holds it."""
    try:
        spec = _spec(module)
        origin = spec.origin if spec is not None else None
        tree = ast.parse(Path(origin).read_text("utf-8")) if origin else ast.Module([], [])
    except (OSError, ValueError, SyntaxError, ImportError):
        return ""
    for node in tree.body:
        if isinstance(node, ast.ClassDef) and node.name == name:
            return (ast.get_docstring(node) or "").partition("\n")[0]
        if isinstance(node, ast.ImportFrom) and any(name == one.name for one in node.names):
            known = node.module if node.level == 0 else None
            return _first_line(known, name) if known and known != module else ""
    return ""


def _offers() -> dict[str, tuple[EntryPoint, ...]]:
    return _offers_on(tuple(sys.path))


@lru_cache(maxsize=1)
def _offers_on(_: tuple[str, ...]) -> dict[str, tuple[EntryPoint, ...]]:
    """Entry points of the packages on these paths; cached, since each package has to be opened."""
    found: dict[str, dict[tuple[str, str], EntryPoint]] = {}
    for entry in entry_points(group=_GROUP):
        found.setdefault(entry.name, {}).setdefault((_package(entry), entry.value), entry)
    return {name: tuple(offers[key] for key in sorted(offers)) for name, offers in found.items()}


def _package(entry: EntryPoint) -> str:
    named = entry.dist.name if entry.dist is not None else None
    return named or "an unknown package"  # its metadata may be damaged


def _known(name: str) -> str:
    near = get_close_matches(name, pass_names(), n=1)
    return f"did you mean {near[0]}?" if near else f"passes at hand: {', '.join(pass_names())}"


def _imported(entry: EntryPoint, place: Place | None) -> type[Params]:
    try:
        cls = entry.load()
    except Exception as error:  # whatever other people's code raises
        package = _package(entry)
        found = f"the pass {entry.name!r} of {package} cannot be loaded: {_sentence(error)}"
        remedy = f"install {package} anew, or do without the pass"
        raise wrong(found, remedy, place=place) from error
    flaw = _flaw(cls, entry.name)
    if flaw:
        package = _package(entry)
        found = f"the pass {entry.name!r} of {package} {flaw}"
        remedy = f"install another version of {package}, or do without the pass"
        raise wrong(found, remedy, place=place)
    return cls


def _flaw(cls: object, name: str) -> str | None:
    if not (isinstance(cls, type) and issubclass(cls, Params)):
        return "is no class derived from preprocess.engine.contract.Params"
    if "api" not in vars(cls) and not cls.__module__.startswith(_GROUP):
        return "does not state its version of passes (api = …)"
    if cls.api != API_VERSION:
        return (
            f"is written for version {cls.api} of passes; this evenmark runs version {API_VERSION}"
        )
    if not isinstance(getattr(cls, "contract", None), Contract):
        return "states no contract"
    if getattr(cls, "name", None) != name:
        return f"has another name in its class: {getattr(cls, 'name', None)!r}"
    return None


def _sentence(error: Exception) -> str:
    if isinstance(error, UserError):
        return str(error)
    first = (str(error).splitlines() or [""])[0]
    return f"{type(error).__name__}: {first}" if first else type(error).__name__


def _spec(module: str) -> ModuleSpec | None:
    """Find a module without importing the packages around it."""
    top, *rest = module.split(".")
    spec = importlib.util.find_spec(top)
    name = top
    for part in rest:
        if spec is None or spec.submodule_search_locations is None:
            return None
        name = f"{name}.{part}"
        spec = PathFinder.find_spec(name, list(spec.submodule_search_locations))
    return spec
