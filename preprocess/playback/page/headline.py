"""The head of the page in sentences: what the rewriting gains, in which figures, at which price."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.marking.evenness.objective import TOLERANCE
from preprocess.marking.evenness.sentence import area_percent, signed_percent
from preprocess.preview.sheet.quantities import duration_text

if TYPE_CHECKING:
    from preprocess.marking.evenness.objective import EvennessFigures, Objective
    from preprocess.marking.prediction import Prediction

_SEEN = 0.01
"""Share by which the worst place must change before it counts: figures are told in percent."""

_FEW = 0.005
"""Share of the area that may lie more than 10 % off in a mark that needs no change."""


def headline(before: Prediction, after: Prediction) -> list[str]:
    """What becomes of the mark; then its worst places and the time, before and after."""
    was, now = before.objective, after.objective
    told = [_verdict(was, now), *_figures(was, now)]
    seconds = [duration_text(one.schedule.total) for one in (before, after)]
    if before.schedule.visits and after.schedule.visits:
        told.append(f"Marking takes {seconds[0]} as drawn and {seconds[1]} as rewritten.")
    return told


def _verdict(was: Objective | None, now: Objective | None) -> str:
    if now is None:
        return (
            "No heat is predicted: nothing is engraved on the part, or its pitch or speed is "
            "missing."
        )
    if was is None:
        return "No heat is predicted for the drawing as it is, so there is nothing to compare."
    gain = was.likely.off - now.likely.off
    if gain < -_SEEN:
        return (
            "As rewritten, this mark gets less even than as drawn. Do not mark it so: evenmark "
            "advise compares other ways."
        )
    if _is_even(was.likely):
        return "This drawing is predicted to mark evenly as it is. It needs no change."
    if gain < _SEEN:
        return "The rewriting changes little: the mark is as uneven as before."
    if _is_even(now.likely):
        return "As rewritten, the mark is predicted to come out even."
    return "As rewritten, the mark is predicted to come out more even, but not even yet."


def _is_even(figures: EvennessFigures) -> bool:
    return figures.off <= TOLERANCE and figures.beyond <= _FEW


def _figures(was: Objective | None, now: Objective | None) -> list[str]:
    if was is None or now is None:
        return []
    one, other = was.likely, now.likely
    told = (
        "Against most of the mark, the hottest place is "
        f"{signed_percent(one.hot)} as drawn and {signed_percent(other.hot)} as rewritten, "
        f"the coldest {signed_percent(one.cold)} and {signed_percent(other.cold)}."
    )
    if one.outside is None or other.outside is None:
        return [told]
    shares = f"{area_percent(one.outside)} as drawn, and {area_percent(other.outside)} as rewritten"
    return [told, f"Outside the filament's window lies {shares}."]
