"""Random chains of passes that the proof lets through, with random parameters.

Passes, their parameters and the bounds of these are asked of the registry and the declarations, so
that a new pass takes part by itself.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

from preprocess.engine import registry
from preprocess.engine.facts import facts_of
from preprocess.engine.proof import prove
from preprocess.errors import UserError
from preprocess.loading.schema.value_types import (
    ChoiceType,
    ListType,
    NumberType,
    QuantityType,
    RecordType,
    SimpleType,
    TableType,
    TupleType,
    UnionType,
    declared_keys,
)
from preprocess.model.artwork.source import Selection
from preprocess.read.reader import read
from preprocess.recipe.load import recipe_from_mapping
from tests.chains.art import PAINTS, number

if TYPE_CHECKING:
    import random

    from preprocess.loading.schema.value_types import DeclaredKey, ValueType
    from tests.chains.art import Drawn

LONGEST = 7
SCALES = {
    "width": (15, 50),
    "height": (12, 36),
    "clearance": (0.5, 3),
    "bar": (0.3, 1.5),
    "gap": (0.2, 0.8),
    "to_art": (0.2, 1),
    "span": (40, 90),
    "spacing": (40, 90),
    "shift": (-4, 4),
    "by": (0.01, 0.12),
    "within": (0.002, 0.05),
    "close": (0.05, 1),
    "inset": (0, 0.15),
    "margin": (0, 1.5),
    "longer_than": (0.3, 5),
}
"""mm that make sense of keys of this name."""

QUANTITIES = {
    "length": (0.02, 3),
    "pitch": (0.08, 0.4),
    "speed": (150, 1500),
    "share": (0.1, 1),
    "angle": (-180, 180),
    "time": (0.002, 0.2),
}
"""Base units that make sense of any other key."""

OFTEN = {
    "solve-power": 0.25,
    "place": 0.5,
    "negative": 0.5,
    "keep-only": 0.5,
    "hatch": 0.6,
    "equalize-width": 3,
    "merge": 2,
    "split": 2,
}
"""How often a pass is tried, beside 1 for all others: more often what needs much, and what gives
it; seldom what is slow, or leaves little to the others."""

SELDOM_KEYS = {"until": 0.04, "copies": 0.12, "stretch": 0.1, "wider_than": 0.3, "span": 0.15}
TRIES = 24
SELECTORS = (".leaf", ".stem", ".ring", "path", "rect", ".seed")


class Proof:
    """Asks the proof whether an order can be, of one drawing that is read once."""

    def __init__(self, drawn: Drawn) -> None:
        options = recipe_from_mapping({"recipe": 1, **drawn.recipe}).options
        every = frozenset(SELECTORS) | options.selectors
        self._drawn = drawn
        self._artwork = read(drawn.svg, "label.svg", replace(options, selectors=every)).artwork
        self._facts = {
            layer.name: facts_of(self._artwork, layer.name) for layer in self._artwork.layers
        }

    def holds(self, steps: list[Any]) -> bool:
        """Whether the recipe is right and each step finds what it needs."""
        try:
            loaded = recipe_from_mapping({"recipe": 1, **self._drawn.recipe, "passes": steps})
            prove(loaded.steps, self._facts, loaded.bench, self._artwork)
        except UserError:
            return False
        return True


@cache
def pass_names() -> tuple[str, ...]:
    """The passes that come with this tree; another tree may be installed and offer more."""
    return tuple(name for name in registry.built_in_names() if _is_here(name))


def _is_here(name: str) -> bool:
    try:
        registry.load_pass(name)
    except UserError as error:
        if isinstance(error.__cause__, ModuleNotFoundError):
            return False
        raise
    return True


def legal_chain(chance: random.Random, drawn: Drawn) -> list[Any]:
    """Steps as a recipe writes them; the proof holds for this drawing.

    Raises:
        UserError: the drawing or the bench cannot be read.
    """
    proof = Proof(drawn)
    names = pass_names()
    weights = [OFTEN.get(one, 1.0) for one in names]
    steps: list[Any] = []
    wanted = chance.randint(1, LONGEST)
    if chance.random() < 0.12:
        _add(chance, drawn, proof, steps, "place")
    if chance.random() < 0.7:
        _add(chance, drawn, proof, steps, "strokes-to-areas")
    for _ in range(TRIES):
        if len(steps) >= wanted:
            break
        _add(chance, drawn, proof, steps, chance.choices(names, weights)[0])
    return steps


def _add(chance: random.Random, drawn: Drawn, proof: Proof, steps: list[Any], which: str) -> None:
    """Add a step if the recipe with it is right and its order can be proved."""
    step = {which: values(chance, registry.load_pass(which), drawn)}
    if proof.holds([*steps, step]):
        steps.append(step)


def values(chance: random.Random, cls: type, drawn: Drawn) -> dict[str, Any]:
    """Random values for the required keys and for some of the others."""
    found: dict[str, Any] = {}
    for key in declared_keys(cls):
        often = SELDOM_KEYS.get(key.name, 0.06 if key.name in {"only", "except"} else 0.3)
        if key.required or chance.random() < often:
            found[key.name] = value(chance, key.type, key, drawn)
    keys = {key.name for key in declared_keys(cls)}
    for counted in keys & {"levels", "colours"} if "powers" in found else ():
        found[counted] = len(found["powers"])
    if "max_points" not in drawn.recipe["machine"]:
        found.pop("up_to", None)
    if "copies" in found:
        found["spacing"] = [f"{number(side + 15)} mm" for side in (drawn.width, drawn.height)]
    elif "spacing" in found:
        del found["spacing"]
    if "width" in found and not found.get("stretch"):
        found.pop("height", None)
    return found


def value(chance: random.Random, of: ValueType, key: DeclaredKey, drawn: Drawn) -> Any:
    """A random value of a type, as YAML would hold it."""
    match of:
        case RecordType(cls):
            return selection(chance, drawn) if cls is Selection else values(chance, cls, drawn)
        case ListType(entry, least):
            count = chance.randint(max(least, 2), 4)
            return [value(chance, entry, key, drawn) for _ in range(count)]
        case TupleType(entries):
            return [value(chance, entry, key, drawn) for entry in entries]
        case UnionType(members):
            return value(chance, chance.choice(members), key, drawn)
        case TableType(name, inner):
            return {value(chance, name, key, drawn): value(chance, inner, key, drawn)}
    return _single(chance, of, key)


def _single(chance: random.Random, of: ValueType, key: DeclaredKey) -> Any:
    """A value that is neither list nor mapping.

    Raises:
        TypeError: nobody has said how to draw such a value.
    """
    match of:
        case QuantityType(quantity, bounds):
            return quantity.text(_quantity(chance, quantity.name, key.name, bounds))
        case NumberType(whole, bounds):
            low, high = _limits(bounds, 1, 5)
            return chance.randint(int(low), int(high)) if whole else chance.uniform(low, high)
        case ChoiceType(choices):
            return str(chance.choice(list(choices)))
        case SimpleType.FLAG:
            return chance.random() < 0.5
    raise TypeError(f"{key.name}: no way to draw {of}")


def _quantity(chance: random.Random, kind: str, name: str, bounds: tuple[Any, ...]) -> float:
    low, high = SCALES.get(name, QUANTITIES[kind]) if kind == "length" else QUANTITIES[kind]
    low, high = _limits(bounds, low, high)
    if kind == "angle":
        return chance.choice((0, 90, 45, 180, round(chance.uniform(low, high), 1)))
    if low > 0:
        return round(math.exp(chance.uniform(math.log(low), math.log(high))), 4)
    return round(chance.choice((0.0, chance.uniform(low, high))), 3)


def _limits(bounds: tuple[Any, ...], low: float, high: float) -> tuple[float, float]:
    for bound in bounds:
        low = max(low, getattr(bound, "ge", getattr(bound, "gt", low)))
        high = min(high, getattr(bound, "le", getattr(bound, "lt", high)))
    return low, max(low, high)


def selection(chance: random.Random, drawn: Drawn) -> dict[str, Any]:
    """Some elements of the drawing."""
    ways: list[dict[str, Any]] = [{"colour": chance.choice(PAINTS)}]
    ways += [{"select": chance.choice(SELECTORS)}]
    ways += [{"label": label} for label in drawn.labels]
    return chance.choice(ways) | {"optional": True}
