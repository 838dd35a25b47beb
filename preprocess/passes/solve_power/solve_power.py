"""solve-power: simulates the final plan and sets the power of each level for even heat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar

from annotated_types import Ge, Le

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import BARRED, FILLED, INTERLEAVED, MERGED, POWERED, SEPARATE, ZONED
from preprocess.engine.selection import selection_test
from preprocess.model.declared import Doc
from preprocess.units import Share

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvePower(Params):
    """Set the power of each level, or of a layer without levels, so that the heat index is even.

    Make it the last step: it simulates the drawing as it will be marked, with its levels, bars
    and order. It aims at index 1 on a graded filament. Otherwise it aims at the index of the
    widest zone, which keeps its power. Areas of all layers count, and own rows of interleave;
    other lines do not. It replaces the powers of tag-power. It converges first and then rounds to
    the steps of the machine. Rounds of interleave get a small step of power each, which is kept
    where the hottest and coldest places become more even, and no less even at other spreads of
    heat; without grades their mean power stays. It refuses a level below the filament's marking
    threshold, and a power outside the machine's range. Levels that are bands of rows are marked
    in the order of their rows, so that heat is continuous. No geometry changes.
    """

    name: ClassVar = "solve-power"
    contract: ClassVar = Contract(
        needs=frozenset({FILLED}),
        gives=frozenset({POWERED}),
        keeps=frozenset({FILLED, MERGED, SEPARATE, ZONED, BARRED, INTERLEAVED}),
        seals=frozenset({POWERED}),
    )

    strength: Annotated[
        Share,
        Ge(0),
        Le(1),
        Doc("share of the unevenness to correct; less keeps more of the spike under the beam"),
    ] = 1.0

    def simulations(self) -> int:
        """Those of a layer in four rounds; levels settle after fewer."""
        return 9

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:
        """Solve and set the powers.

        Raises:
            Refusal: no pitch, speed or power; only a part of a layer is chosen; a level would not
                show, or needs a power outside the machine's range.
        """
        from preprocess.passes.solve_power.levels_and_rounds import solve_levels_and_rounds

        return solve_levels_and_rounds(
            artwork, bench, selection_test(artwork, self), strength=self.strength
        )
