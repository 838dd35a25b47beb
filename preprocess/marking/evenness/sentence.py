"""The objective as one sentence that a maker reads: worst places, window, time, colours, powers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.units import TIME, digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.evenness.objective import EvennessFigures, Objective


def objective_sentence(
    now: Objective, powers: Sequence[float] = (), *, before: Objective | None = None
) -> str:
    """Worst place, coldest, what lies outside, time, and the power of each colour.

    Args:
        now: of what is to be marked.
        powers: of its colour layers, shares in marking order; may be left out.
        before: of the drawing as read, to show what was gained.
    """
    hot, cold = (None, None) if before is None else (before.likely.hot, before.likely.cold)
    return ", ".join(
        [
            f"worst place {_change(hot, now.likely.hot)}",
            f"coldest {_change(cold, now.likely.cold)}",
            outside_words(now.likely),
            _times(now, before),
            *([_colours(powers)] if powers else []),
        ]
    )


def places_words(figures: EvennessFigures) -> str:
    """The worst places and what lies outside, in words."""
    return (
        f"worst place {signed_percent(figures.hot)}, coldest {signed_percent(figures.cold)}, "
        f"{outside_words(figures)}"
    )


def signed_percent(ratio: float, decimals: int = 0) -> str:
    """A ratio to the median as a person reads it: +3 %, −5 %."""
    percent = round(100 * (ratio - 1), decimals)
    sign = "−" if percent < 0 else "+" if percent > 0 else "± "
    return f"{sign}{abs(percent):.{decimals}f} %"


def _change(was: float | None, now: float) -> str:
    after = signed_percent(now)
    return after if was is None else f"{signed_percent(was)} → {after}"


def outside_words(figures: EvennessFigures) -> str:
    """The share of the area outside the window; without grades, more than 10 % off the median."""
    share = figures.beyond if figures.outside is None else figures.outside
    what = "beyond ± 10 %" if figures.outside is None else "outside the window"
    return f"{area_percent(share)} {what}"


def area_percent(share: float) -> str:
    """A share of the area; less than half a tenth of a per cent is nothing."""
    percent = 100 * share
    if percent < 0.05:  # noqa: PLR2004 - what the figure would round to
        return "nothing"
    return f"{digits(percent, 2) if percent < 10 else f'{percent:.0f}'} % of the area"  # noqa: PLR2004


def _times(now: Objective, before: Objective | None) -> str:
    after = TIME.text(round(now.time, 1))
    return after if before is None else f"{before.time:.1f} → {after}"


def _colours(powers: Sequence[float]) -> str:
    each = ", ".join(digits(100 * power, 3) for power in powers)
    return f"{len(powers)} colours: {each} %" if len(powers) > 1 else f"one colour: {each} %"


def objective_data(found: Objective) -> dict[str, Any]:
    """The objective as plain data, for reports: shares and ratios to the median."""
    return {
        "likely": _figures_data(found.likely),
        "worst": _figures_data(found.worst),
    }


def _figures_data(figures: EvennessFigures) -> dict[str, float | None]:
    return {
        "hottest_place": figures.hot,
        "coldest_place": figures.cold,
        "share_beyond_10_percent": figures.beyond,
        "seam": figures.seam,
    }
