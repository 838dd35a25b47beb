"""One way to mark a design, and what it asks of a recipe."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from preprocess.recipe.starter.recipe_edit import RecipeEdit
from preprocess.units import ANGLE, PITCH, SHARE, SPEED

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from preprocess.model.artwork.settings import Direction

_FOR_HEAT = frozenset({"tag-power", "equalize-width", "solve-power", "hatch", "order-shapes"})
"""Passes that are here to even out heat: what advice exchanges. All others stay."""

_SWEEPING = frozenset({"merge", "split"})

_OF_BARS = "clearance", "bar", "gap", "to_art", "field_margin"
"""Parameters of bars that a recipe decides and that hold for all bars tried."""


_ORDINAL = {2: "second", 3: "third"}


class Sweep(StrEnum):
    """Scope of a sweep: areas that are swept together."""

    AS_IT_IS = "as the recipe has it"
    TOGETHER = "together"
    APART = "each shape by itself"


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Way to mark a design; None stays as the recipe has it; mm, mm/s, degrees, shares.

    `levels` 0 gives all areas one power, 1 each layer its own, solved, more cut zones by heat and
    solve theirs. `even` is how even bars are to make the rows, with the least span and the fewest
    bars that do; None puts them beside all rows. `cool` orders separate shapes so that they cool.
    `every` makes rows of our own to score, every so many first; 0 leaves rows to the laser's
    software. `given` is the recipe unchanged.
    """

    given: bool = False
    sweep: Sweep = Sweep.AS_IT_IS
    cool: bool = False
    direction: Direction | None = None
    angle: float | None = None
    pitch: float | None = None
    speed: float | None = None
    power: float | None = None
    bars: bool = False
    even: float | None = None
    levels: int = 0
    every: int = 0

    @property
    def title(self) -> str:
        """The way in a few words."""
        return "the recipe as it stands" if self.given else ", ".join(self._words())

    def _words(self) -> Iterator[str]:
        yield "swept as before" if self.sweep is Sweep.AS_IT_IS else self.sweep
        if self.cool:
            yield "ordered to cool"
        if self.direction is not None:
            yield self.direction
        if self.angle is not None:
            yield f"rows at {ANGLE.text(self.angle)}"
        if self.pitch is not None:
            yield f"pitch {PITCH.text(self.pitch)}"
        if self.bars:
            yield "bars" if self.even is None else f"bars until even to {SHARE.text(self.even)}"
        if self.every:
            yield f"own rows, every {_ORDINAL[self.every]} first"
        if self.levels > 1:
            yield f"{self.levels} levels"
        elif self.levels:
            yield "a power for each layer"
        else:
            known = self.power is not None
            yield f"one power, {SHARE.text(self.power or 0)}" if known else "powers as they are"
        if self.speed is not None:
            yield SPEED.text(self.speed)


def edit_of(way: Way, passes: Iterable[Any]) -> RecipeEdit:
    """Changes to a recipe whose passes these are."""
    passes = tuple(passes)
    if way.given:
        return RecipeEdit(passes=passes)
    steps = _swept([entry for entry in passes if pass_name(entry) not in _FOR_HEAT], way.sweep)
    if way.cool:
        steps.append("order-shapes")
    if way.levels > 1:
        steps.append({"tag-power": {"by": "heat", "levels": way.levels}})
    if way.bars:
        steps.append({"equalize-width": _bars(passes, way.even)})
    if way.levels:
        steps.append("solve-power")
    settings = dict(_settings(way))
    if not way.every:
        return RecipeEdit(engrave=settings, passes=tuple(steps))
    steps.append({"hatch": {"every": way.every}})
    score = {key: value for key, value in settings.items() if key in {"power", "speed"}}
    return RecipeEdit(engrave=settings, score=score, passes=tuple(steps))


def pass_name(entry: Any) -> str:
    """The name of the pass in an entry of `passes:`."""
    return entry if isinstance(entry, str) else str(next(iter(entry)))


def _swept(passes: list[Any], sweep: Sweep) -> list[Any]:
    """The passes with the wanted sweep in place of the first merge or split, else at the end."""
    if sweep is Sweep.AS_IT_IS:
        return passes
    name = "merge" if sweep is Sweep.TOGETHER else "split"
    places = [n for n, entry in enumerate(passes) if pass_name(entry) in _SWEEPING]
    kept = [entry for entry in passes if pass_name(entry) not in _SWEEPING]
    kept.insert(places[0] if places else len(kept), name)
    return kept


def _bars(passes: Iterable[Any], even: float | None) -> dict[str, Any]:
    held: dict[str, Any] = {}
    for entry in passes:
        if pass_name(entry) == "equalize-width" and isinstance(entry, dict):
            held = {k: v for k, v in (entry["equalize-width"] or {}).items() if k in _OF_BARS}
    return held if even is None else {**held, "until": {"evenness": SHARE.text(even)}}


def _settings(way: Way) -> Iterator[tuple[str, str]]:
    for key, quantity in (("power", SHARE), ("speed", SPEED), ("pitch", PITCH), ("angle", ANGLE)):
        value = getattr(way, key)
        if value is not None:
            yield key, quantity.text(value)
    if way.direction is not None:
        yield "direction", str(way.direction)
