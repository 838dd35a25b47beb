"""Advice as text: sentences, table, a scatter plot of characters, recipe lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.advice.ways import Sweep, edit_of
from preprocess.marking.heat.window_shares import TOLERATED_SHARE
from preprocess.recipe.starter.recipe_edit import edit_lines
from preprocess.units import SHARE, SPEED, TIME, digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.advice.advise import Advice
    from preprocess.advice.rating import RatedWay
    from preprocess.advice.simulate import AdviceRequest

WAY_HEADINGS = "way", "outside", "variation", "margin", "time", "layers"

FIRST_COUPON = "row-span"
"""The coupon that tells most about an ungraded filament."""

WIDE, HIGH = 52, 9
"""Characters of the plot."""


def numbered_ways(advice: Advice) -> dict[int, RatedWay]:
    """The ways by the number that a person chooses.

    0 is the recipe as it stands, 1 the best of the others; one setting for all is among them.
    """
    others = [one for one in advice.best if not one.way.given]
    if advice.one is not None and advice.one not in others and advice.limits.keep(advice.one):
        others.append(advice.one)
    return {0: advice.given, **dict(enumerate(others, 1))}


def best_number(advice: Advice) -> int:
    """The number of the best way."""
    ways = numbered_ways(advice)
    return next((n for n, one in ways.items() if advice.best and one is advice.best[0]), 0)


def ways_table(ways: Mapping[int, RatedWay]) -> list[tuple[str, ...]]:
    """One row to a way, under `HEADINGS`."""
    return [(f"{number} {one.way.title}", *_cells(one)) for number, one in ways.items()]


def _cells(one: RatedWay) -> tuple[str, ...]:
    figures = one.figures
    return (
        f"{100 * figures.outside:.1f} %",
        f"{100 * figures.variation:.1f} %",
        "-" if figures.margin is None else f"± {100 * figures.margin:.0f} %",
        f"{figures.time:.1f} s",
        str(figures.layers),
    )


def speed_table(paces: Sequence[RatedWay]) -> list[tuple[str, ...]]:
    """One speed to a row: which power, what lies outside, how far it may be off."""
    return [
        (
            SPEED.text(one.way.speed or 0.0),
            "as it is" if one.way.power is None else SHARE.text(one.way.power),
            *_cells(one)[:-1],
        )
        for one in paces
    ]


def one_setting_answer(advice: Advice) -> str:
    """Answer on one speed and power for the whole design, and its margin."""
    one, window = (
        advice.one,
        f"the window of {digits(advice.window.weak)} to {digits(advice.window.heavy)}",
    )
    if one is None:
        return "No single power of this machine would show at the speeds that were tried."
    figures, whole = one.figures, one.figures.outside <= TOLERATED_SHARE
    at = SPEED.text(one.way.speed or 0.0)
    power = "the recipe's powers" if one.way.power is None else SHARE.text(one.way.power)
    parts = f"{100 * figures.too_weak:.1f} % too weak, {100 * figures.too_heavy:.1f} % too heavy"
    if not advice.calibrated:
        window += " times the median (not graded)"
    if not whole:
        return (
            f"One speed and power for all: no. The best is {power} at {at}, and leaves "
            f"{100 * figures.outside:.1f} % of the area outside {window} ({parts})."
        )
    return (
        f"One speed and power for all: yes, {power} at {at}. Only "
        f"{100 * figures.outside:.1f} % of the area lies outside {window}. The power may be "
        f"{100 * (figures.margin or 0.0):.0f} % higher or lower before that exceeds "
        f"{digits(100 * TOLERATED_SHARE)} %."
    )


def closing_sentences(advice: Advice, recipe: str) -> Iterator[str]:
    """Advice on the result: what to check, and cautions."""
    if not advice.helps:
        yield "No way that was tried is better than the recipe as it stands."
    if any(one.way.pitch is not None for one in advice.best):
        yield "A wider pitch may show as rows: mark a test patch first."
    if any(one.way.sweep is Sweep.APART for one in advice.best):
        yield "Separate shapes need laser software that sweeps them one after another."
    if any(one.way.bars for one in advice.best):
        yield (
            "Bars mark what lies beside the part: put a matt sacrificial card there, never bare "
            "metal."
        )
    if not advice.calibrated:
        yield (
            f"This filament is not graded, so ways are only ranked ({advice.trust}). Mark and "
            f"grade a coupon first: evenmark coupon {recipe} {FIRST_COUPON}"
        )
    yield "This is a prediction, not a promise that a setting is safe or right; a coupon decides."


def left_out_sentences(advice: Advice) -> list[str]:
    """Reasons why ways were left out, each once."""
    found: dict[str, list[str]] = {}
    for one in advice.left_out:
        found.setdefault(one.why, []).append(one.way.title)
    return [f"left out: {' / '.join(dict.fromkeys(t))}: {why}" for why, t in found.items()]


def recipe_lines(job: AdviceRequest, one: RatedWay) -> tuple[str, str]:
    """Lines to paste into the recipe, and what to remove from it (often nothing)."""
    edit = edit_of(one.way, job.loaded.recipe.passes)
    said = [
        f"{key} of layer {rule.name}"
        for rule in job.loaded.recipe.layers
        if rule.operation == "engrave"
        for key in edit.engrave
        if getattr(rule.settings, key) is not None
    ]
    return edit_lines(edit), f"Take out the {', '.join(said)}." if said else ""


def scatter_plot(ways: Mapping[int, RatedWay]) -> list[str]:
    """Scatter plot of variation over time; a way is its number, the first where several meet."""
    x = {number: way.figures.time for number, way in ways.items()}
    y = {number: 100 * way.figures.variation for number, way in ways.items()}
    cells = [[" "] * WIDE for _ in range(HIGH)]
    for number in reversed(list(ways)):
        name = str(number)
        row = HIGH - 1 - _place(y[number], list(y.values()), HIGH)
        column = _place(x[number], list(x.values()), WIDE - len(name) + 1)
        cells[row][column : column + len(name)] = name
    low, high = f"{min(y.values()):.1f} %", f"{max(y.values()):.1f} %"
    marks = {0: high, HIGH - 1: low} if low != high else {HIGH - 1: low}
    left = max(len(low), len(high))
    lines = [f"{marks.get(n, ''):>{left}} | {''.join(row)}".rstrip() for n, row in enumerate(cells)]
    ends = [TIME.text(round(t, 1)) for t in (min(x.values()), max(x.values()))]
    between = " " * max(1, WIDE - len(ends[0]) - len(ends[1]))
    axis = f"{'':>{left}}   {ends[0]}{between}{ends[1]}"
    return [
        "variation of the heat index",
        *(line.rstrip() for line in lines),
        f"{'':>{left}} +{'-' * (WIDE + 1)}",
        axis,
        f"{'time':>{left + 3 + WIDE}}",
    ]


def _place(value: float, values: Sequence[float], count: int) -> int:
    low, high = min(values), max(values)
    return round((count - 1) * (value - low) / (high - low)) if high > low else 0
