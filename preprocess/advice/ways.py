"""One way to mark a design, and what it asks of a recipe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preprocess.findings import counted
from preprocess.marking.heat.effort import Effort
from preprocess.passes.interleave.interleave import Form
from preprocess.recipe.starter.recipe_edit import RecipeEdit
from preprocess.units import ANGLE, SHARE, SPEED

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from preprocess.model.artwork.settings import Direction

_FOR_HEAT = frozenset(
    {"tag-power", "equalize-width", "solve-power", "hatch", "order-shapes", "interleave", "grey"}
)
"""Passes that are here to even out heat: what advice exchanges. All others stay."""

_OF_BARS = "clearance", "bar", "gap", "to_art", "field_margin"
"""Parameters of bars that a recipe decides and that hold for all bars tried."""

BAR_EVENNESS = 0.1
"""How even bars of the least span are to make the rows."""

_FORMS = {Form.STRIPS: "strips", Form.OWN_ROWS: "own rows"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Way to mark a design; None stays as the recipe has it; mm/s, shares.

    `given` is the recipe unchanged. `rounds` marks every so many rows in each round, as strips or
    own rows, in `colours`; `powers` are shares of `power` by colour. `one_layer` joins the engraved
    layers, which have equal settings. `images` writes areas as so many images of greys. `bars` are
    as few as make rows even. `levels` above 1 cut zones by heat and solve their powers. `angle` is
    that of rows or greys that are turned (degrees).
    """

    given: bool = False
    form: Form | None = None
    rounds: int = 0
    colours: int = 0
    one_layer: bool = False
    direction: Direction | None = None
    power: float | None = None
    powers: tuple[float, ...] = ()
    speed: float | None = None
    images: int = 0
    angle: float | None = None
    bars: bool = False
    levels: int = 0

    @property
    def is_searched(self) -> bool:
        """True if the powers of its colours are searched for; those of others are known."""
        return self.form is not None

    @property
    def effort(self) -> Effort:
        """How finely it is simulated first: by a quick look while its powers are searched for."""
        return Effort.PREVIEW if self.is_searched else Effort.BOUNDED

    @property
    def title(self) -> str:
        """The way in a few words."""
        return "the recipe as it stands" if self.given else ", ".join(self._words())

    @property
    def kind(self) -> str:
        """Form and rounds alone; of other ways the title."""
        return self.title if self.form is None else next(self._words())

    def _words(self) -> Iterator[str]:
        if self.form is not None:
            number = f"{self.rounds} " if self.rounds > 1 else ""
            yield f"{_FORMS[self.form]} in {number}rounds"
            yield "one colour" if self.colours == 1 else f"{self.colours} colours"
        elif self.images:
            yield f"greys in {counted(self.images, 'image')}"
        elif self.bars:
            yield "bars"
        elif self.levels > 1:
            yield f"{self.levels} zones by heat"
        else:
            yield "as drawn, one speed and power"
        if self.angle is not None:
            yield f"rows at {ANGLE.text(self.angle)}"
        if self.direction is not None:
            yield self.direction
        if self.speed is not None:
            yield SPEED.text(self.speed)


def edit_of(way: Way, passes: Iterable[Any]) -> RecipeEdit:
    """Changes to a recipe whose passes these are."""
    passes = tuple(passes)
    if way.given:
        return RecipeEdit(passes=passes)
    steps = [entry for entry in passes if pass_name(entry) not in _FOR_HEAT]
    if way.levels > 1:
        steps.append({"tag-power": {"by": "heat", "levels": way.levels}})
    if way.bars:
        steps.append({"equalize-width": _bars(passes)})
    if way.levels > 1:
        steps.append("solve-power")
    if way.form is not None:
        steps.append({"interleave": dict(_interleaved(way))})
    if way.images:
        steps.append({"grey": {"images": way.images}})
    engrave = {} if way.direction is None else {"direction": str(way.direction)}
    if way.power is not None:
        engrave["power"] = SHARE.text(round(way.power, 9))
    if way.speed is not None:
        engrave["speed"] = SPEED.text(way.speed)
    score = dict(engrave) if way.form is Form.OWN_ROWS else {}
    score.pop("direction", None)
    if way.angle is not None:
        engrave["angle"] = ANGLE.text(way.angle)
    return RecipeEdit(engrave=engrave, score=score, passes=tuple(steps), one_layer=way.one_layer)


def _interleaved(way: Way) -> Iterator[tuple[str, Any]]:
    yield "form", str(way.form)
    yield "rounds", way.rounds
    yield "colours", way.colours
    if way.powers:
        yield "powers", [SHARE.text(share) for share in way.powers]


def pass_name(entry: Any) -> str:
    """The name of the pass in an entry of `passes:`."""
    return entry if isinstance(entry, str) else str(next(iter(entry)))


def _bars(passes: Iterable[Any]) -> dict[str, Any]:
    held: dict[str, Any] = {}
    for entry in passes:
        if pass_name(entry) == "equalize-width" and isinstance(entry, dict):
            held = {k: v for k, v in (entry["equalize-width"] or {}).items() if k in _OF_BARS}
    return {**held, "until": {"evenness": SHARE.text(BAR_EVENNESS)}}
