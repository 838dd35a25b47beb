"""Advice as JSON, for scripts: six significant digits, keys in one order."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from preprocess import __version__
from preprocess.advice.sentences import FIRST_COUPON, best_number, numbered_ways, recipe_lines
from preprocess.advice.ungraded import ungraded_sentences

if TYPE_CHECKING:
    from preprocess.advice.advise import Advice
    from preprocess.advice.rating import RatedWay
    from preprocess.advice.simulate import AdviceRequest

_FORMAT = 1
"""Version of the report's format."""


def advice_data(advice: Advice, job: AdviceRequest, title: str) -> dict[str, Any]:
    """Everything that was found, as plain data."""
    return {
        "advice": _FORMAT,
        "design": title,
        "calibrated": advice.calibrated,
        "trust": advice.trust or None,
        "coupon_first": None if advice.calibrated else FIRST_COUPON,
        "window": {"weak": advice.window.weak, "heavy": advice.window.heavy},
        "one_setting": None if advice.one is None else _setting(advice.one),
        "speeds": [_setting(one) for one in advice.paces],
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
        "beyond_graded": ungraded_sentences(advice, job.loaded.filament),
        "left_out": [{"title": one.way.title, "why": one.why} for one in advice.left_out],
        "version": __version__,
    }


def advice_bytes(advice: Advice, job: AdviceRequest, title: str) -> bytes:
    """The report as a file."""
    text = json.dumps(advice_data(advice, job, title), indent=2, ensure_ascii=False)
    return (text + "\n").encode()


def _setting(one: RatedWay) -> dict[str, Any]:
    power = one.way.power
    return {
        "speed_mm_s": one.way.speed,
        "power_percent": None if power is None else _short(100 * power),
        **_figures(one),
    }


def _figures(one: RatedWay) -> dict[str, Any]:
    held = {**asdict(one.figures), "outside": one.figures.outside}
    names = {
        "outside": "share_outside",
        "too_weak": "share_too_weak",
        "too_heavy": "share_too_heavy",
        "median": "median",
        "variation": "variation",
        "rows": "rows_largest_over_median",
        "margin": "margin",
        "time": "time_s",
        "layers": "layers",
    }
    return {name: _short(held[key]) for key, name in names.items()}


def _short(value: float | None) -> float | None:
    return value if value is None or isinstance(value, int) else float(f"{value:.6g}")
