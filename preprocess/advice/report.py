"""Advice as JSON, for scripts: six significant digits, keys in one order."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from preprocess import __version__
from preprocess.advice.sentences import (
    FIRST_COUPON,
    answer,
    best_number,
    numbered_ways,
    recipe_lines,
)
from preprocess.advice.why_not import why_not_sentences
from preprocess.marking.evenness.sentence import objective_data

if TYPE_CHECKING:
    from preprocess.advice.advise import Advice
    from preprocess.advice.rating import RatedWay
    from preprocess.advice.simulate import AdviceRequest

_FORMAT = 2
"""Version of the report's format."""


def advice_data(advice: Advice, job: AdviceRequest, title: str) -> dict[str, Any]:
    """Everything that was found, as plain data."""
    return {
        "advice": _FORMAT,
        "design": title,
        "answer": answer(advice),
        "why_not": list(why_not_sentences(advice)),
        "leave_alone": advice.alone,
        "calibrated": advice.calibrated,
        "trust": advice.trust or None,
        "coupon_first": None if advice.calibrated else FIRST_COUPON,
        "window": {"weak": advice.window.weak, "heavy": advice.window.heavy},
        "ways": [
            {
                "number": number,
                "title": one.way.title,
                "unbeaten": one in advice.best,
                **_figures(one),
                "lines": "" if one.way.given else recipe_lines(job, one)[0],
            }
            for number, one in numbered_ways(advice).items()
        ],
        "best": best_number(advice),
        "helps": advice.helps,
        "left_out": [{"title": one.way.title, "why": one.why} for one in advice.left_out],
        "version": __version__,
    }


def advice_bytes(advice: Advice, job: AdviceRequest, title: str) -> bytes:
    """The report as a file."""
    text = json.dumps(advice_data(advice, job, title), indent=2, ensure_ascii=False)
    return (text + "\n").encode()


def _figures(one: RatedWay) -> dict[str, Any]:
    found = one.objective
    evenness = {
        which: {key: _short(value) for key, value in figures.items()}
        for which, figures in objective_data(found).items()
    }
    return {
        **evenness,
        "row_by_row": {
            "hottest_place": _short(one.bound.hot),
            "coldest_place": _short(one.bound.cold),
        },
        "not_graded": [use.words for use in one.ungraded],
        "share_outside_window": _short(found.likely.outside),
        "median": _short(one.median),
        "powers_percent": [_short(100 * power) for power in one.powers],
        "time_s": _short(found.time),
        "layers": found.layers,
    }


def _short(value: float | None) -> float | None:
    return value if value is None or isinstance(value, int) else float(f"{value:.6g}")
