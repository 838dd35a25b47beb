"""Search for the fewest bars that make rows even: their span, and the rows beside them.

Two bisections over lengths in whole steps, each trial simulated in full. The first finds the span,
with bars beside all narrower rows that have room. The second finds the width below which rows need
bars.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.marking.heat.evenness import evenness_of
from preprocess.marking.heat.index import heat_index

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.marking.heat.evenness import Evenness
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
    even: Evenness

    @property
    def area(self) -> float:
        """Area of the bars, mm²."""
        return sum(float(entry.bars.area) for entry in self.laid.barred)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarSearch:
    """Evenness without bars, with bars beside all rows, and the best and the fewest bars tried.

    `best` is the most even trial. `least` reaches the goal; None if no trial does.
    """

    plain: Evenness
    full: BarTrial
    best: BarTrial
    least: BarTrial | None


def search_bars(
    full: float,
    lay: Callable[[float, float | None], BarLayout],
    measure: Callable[[BarLayout], Evenness],
    plain: Evenness,
    goal: float,
) -> BarSearch:
    """Find the smallest span, then the fewest rows, at which no row is hotter than `goal` allows.

    Args:
        full: the span that clears all of every part, mm.
        lay: bars of a span (mm) beside rows below a width (mm; None: all).
        measure: evenness of the rows with some bars.
        plain: evenness without any, which misses the goal.
        goal: largest ratio of the hottest row to the median, see `Evenness.off`.
    """
    known: dict[tuple[bytes, ...], Evenness] = {}

    def tried(span: float, below: float | None) -> BarTrial:
        laid = lay(span, below)
        key = tuple(entry.bars.wkb for entry in laid.barred)
        if key not in known:
            struck = any(not entry.bars.is_empty for entry in laid.barred)
            known[key] = measure(laid) if struck else plain
        return BarTrial(span=span, below=below, laid=laid, even=known[key])

    all_rows = tried(full, None)
    if all_rows.even.off > goal:
        some = [tried(full, below) for below in _doubling(full)]
        good = next((trial for trial in some if trial.even.off <= goal), None)
        best = min([all_rows, *some], key=lambda trial: trial.even.off)
        return BarSearch(plain=plain, full=all_rows, best=best, least=good)
    span = _least(steps_to(full), lambda s: tried(s, None).even.off <= goal)
    below = _least(steps_to(span), lambda b: tried(span, b).even.off <= goal)
    fewest = tried(span, below if below < span else None)
    return BarSearch(plain=plain, full=all_rows, best=all_rows, least=fewest)


def _doubling(most: float) -> list[float]:
    """A few widths in mm, each twice the one before, for bars that are too much beside all rows."""
    return list(takewhile(lambda x: x < most, (2.0**n / 2 for n in range(64))))


def predicted_evenness(artwork: Artwork, bench: Bench, groups: Sequence[RasterGroup]) -> Evenness:
    """Predicted evenness of the rows of the layers of some groups.

    Raises:
        Refusal: none of them is lit on a part.
    """
    layers: dict[str, set[str]] = {}
    for group in groups:
        layers.setdefault(group.output.layer, set()).add(group.output.id)
    even = evenness_of(heat_index(artwork, bench), list(layers.values()))
    if even is None:
        raise Refusal(
            "no engraved area lies on a part, so until has no rows to even out",
            "move the art onto the part, or give equalize-width a span instead of until",
        )
    return even


def steps_to(most: float) -> list[float]:
    """Lengths in mm up to the largest, in steps that a person would choose."""
    fine = takewhile(lambda x: x < min(most, _COARSE_FROM), (n / 2 for n in range(1, 1000)))
    coarse = takewhile(lambda x: x < most, (_COARSE_FROM + n for n in range(100000)))
    return [*fine, *coarse, most]


def _least(lengths: Sequence[float], reaches: Callable[[float], bool]) -> float:
    """A length that reaches the goal although the one before it does not; the last one reaches it.

    Lengths ascend. Bisection: if the goal is reached, lost and reached again, it finds one place.
    """
    low, high = -1, len(lengths) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if reaches(lengths[middle]):
            high = middle
        else:
            low = middle
    return lengths[high]
