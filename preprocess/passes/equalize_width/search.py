"""Search for the fewest bars that make rows even: their span, and the rows beside them.

Two bisections over lengths in whole steps by quick looks, and each result proven in full. The first
finds the span, with bars beside all narrower rows that have room. The second finds the width below
which rows need bars; since more bars can be worse, it begins at the least of a few widths that is
enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.marking.evenness.cells import marked_cells
from preprocess.marking.evenness.objective import figures_of_cells
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.marking.evenness.objective import EvennessFigures
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.passes.equalize_width.apply import BarLayout

_COARSE_FROM = 10.0
"""mm from which lengths are tried in steps of 1 mm instead of half a mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BarTrial:
    """Bars of a span (mm) beside rows `below` a width (mm; None: all), and evenness of the rows."""

    span: float
    below: float | None
    laid: BarLayout
    even: EvennessFigures

    @property
    def area(self) -> float:
        """Area of the bars, mm²."""
        return sum(float(entry.bars.area) for entry in self.laid.barred)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarSearch:
    """Evenness without bars, with bars beside all rows, and the best and the fewest bars tried.

    `best` is the most even trial. `least` reaches the goal; None if no trial does.
    """

    plain: EvennessFigures
    full: BarTrial
    best: BarTrial
    least: BarTrial | None


def search_bars(
    full: float,
    lay: Callable[[float, float | None], BarLayout],
    measure: Callable[[BarLayout, Effort], EvennessFigures],
    plain: EvennessFigures,
    goal: float,
) -> BarSearch:
    """Find the smallest span, then the fewest rows, at which no place is hotter than `goal` allows.

    Args:
        full: the span that clears all of every part, mm.
        lay: bars of a span (mm) beside rows below a width (mm; None: all).
        measure: evenness of the rows with some bars, in full or by a quick look.
        plain: evenness without any, which misses the goal.
        goal: largest ratio of the hottest place to the median.
    """
    known: dict[tuple[Effort, tuple[bytes, ...]], EvennessFigures] = {}

    def tried(span: float, below: float | None, effort: Effort = Effort.FULL) -> BarTrial:
        laid = lay(span, below)
        key = effort, tuple(entry.bars.wkb for entry in laid.barred)
        if key not in known:
            struck = any(not entry.bars.is_empty for entry in laid.barred)
            known[key] = measure(laid, effort) if struck else plain
        return BarTrial(span=span, below=below, laid=laid, even=known[key])

    all_rows = tried(full, None)
    if all_rows.even.hot > goal:
        some = [tried(full, below) for below in _doubling(full)]
        good = next((trial for trial in some if trial.even.hot <= goal), None)
        best = min([all_rows, *some], key=lambda trial: trial.even.hot)
        return BarSearch(plain=plain, full=all_rows, best=best, least=good)
    span = _least(steps_to(full), lambda s, how: tried(s, None, how).even.hot <= goal)

    def enough(below: float, how: Effort = Effort.PREVIEW) -> bool:
        return tried(span, below, how).even.hot <= goal

    most = next((below for below in _doubling(span) if enough(below)), span)
    most = most if enough(most, Effort.FULL) else span
    below = _least(steps_to(most), enough)
    fewest = tried(span, below if below < span else None)
    return BarSearch(plain=plain, full=all_rows, best=all_rows, least=fewest)


def _doubling(most: float) -> list[float]:
    """A few widths in mm, each twice the one before, for bars that are too much beside all rows."""
    return list(takewhile(lambda x: x < most, (2.0**n / 2 for n in range(64))))


def predicted_evenness(
    artwork: Artwork, bench: Bench, groups: Sequence[RasterGroup], effort: Effort = Effort.FULL
) -> EvennessFigures:
    """Predicted evenness of some groups at the likely spread.

    Raises:
        Refusal: none of them is lit on a part.
    """
    names = {group.output.id for group in groups}
    heat = heat_index(artwork, bench, effort=effort)
    cells = marked_cells([image for image in heat.images if image.output in names])
    if cells is None:
        raise Refusal(
            "no engraved area lies on a part, so until has no rows to even out",
            "move the art onto the part, or give equalize-width a span instead of until",
        )
    return figures_of_cells(cells, cells.index[0])


def steps_to(most: float) -> list[float]:
    """Lengths in mm up to the largest, in steps that a person would choose."""
    fine = takewhile(lambda x: x < min(most, _COARSE_FROM), (n / 2 for n in range(1, 1000)))
    coarse = takewhile(lambda x: x < most, (_COARSE_FROM + n for n in range(100000)))
    return [*fine, *coarse, most]


def _least(lengths: Sequence[float], reaches: Callable[[float, Effort], bool]) -> float:
    """A length that reaches the goal although the one before it does not; the last one reaches it.

    Lengths ascend. Bisection by quick looks, and from there by single steps in full: if the goal is
    reached, lost and reached again, it finds one place.
    """
    low, high = -1, len(lengths) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if reaches(lengths[middle], Effort.PREVIEW):
            high = middle
        else:
            low = middle
    while high < len(lengths) - 1 and not reaches(lengths[high], Effort.FULL):
        high += 1
    while high > 0 and reaches(lengths[high - 1], Effort.FULL):
        high -= 1
    return lengths[high]
