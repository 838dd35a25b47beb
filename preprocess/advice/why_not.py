"""Why no way that was tried is as even as rounds should make a drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.advice.lines import line_of, meets_a_line
from preprocess.findings import counted
from preprocess.geometry.rows.rounds import usual_rounds
from preprocess.marking.evenness.sentence import signed_percent
from preprocess.passes.interleave.interleave import Form
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.advice.advise import Advice
    from preprocess.advice.lines import EvenLine
    from preprocess.advice.rating import RatedWay

_FEW_SPREADS = 1.5
"""Spreads of heat, at the wide end of its interval, within which rows still warm one another."""


def why_not_sentences(advice: Advice) -> Iterator[str]:
    """What the best way falls short of, and each reason that can be told; none if it does not."""
    best = advice.best[0]
    if advice.alone or meets_a_line(best.objective, advice.pitch):
        return
    missed = "; ".join(line_of(advice.pitch).missed(best.objective))
    yield f"Not as even as rounds should make it: {missed}. Why:"
    yield from (f"- {reason}" for reason in _reasons(advice, best))


def _reasons(advice: Advice, best: RatedWay) -> Iterator[str]:
    line = line_of(advice.pitch)
    bound = best.bound
    if not best.in_rounds and not best.way.images:
        yield "no way in rounds is possible here: the reasons are below, under left out"
    elif _is_short_of_colours(advice, best):
        yield (
            f"only {counted(advice.colours, 'colour')} can be had for its rounds: allow more "
            "layers, or join others in the drawing"
        )
    if bound.hot > line.hot or bound.cold < line.cold:
        yield (
            "a power for each row would leave the worst place "
            f"{signed_percent(bound.hot)} and the coldest {signed_percent(bound.cold)}: the rest "
            "lies along the rows, at their ends and in thin places, where no order or power of "
            "rows reaches"
        )
    elif best.way.form is not None and _misses_likely(line, best):
        yield (
            "a power for each row could leave the worst place "
            f"{signed_percent(bound.hot)} and the coldest {signed_percent(bound.cold)}, but a "
            "colour has one power for every row of its rounds"
        )
    apart = advice.pitch * best.way.rounds
    least, greatest = min(best.spreads), max(best.spreads)
    worst = best.objective.worst
    at_worst = worst.hot > line.worst_hot or worst.cold < line.worst_cold
    if best.way.form is not None and at_worst and apart < _FEW_SPREADS * greatest:
        yield (
            f"rows of one round lie {digits(apart, 2)} mm apart, and heat may spread as far as "
            f"{digits(greatest, 2)} mm: its spread is known only as {digits(least, 2)} to "
            f"{digits(greatest, 2)} mm; a graded row-span coupon narrows it"
        )
    own_rows = any(left.way.form is Form.OWN_ROWS for left in advice.left_out)
    if own_rows and not best.way.given:
        yield "own rows, which need fewer colours, were left out: see below"


def _is_short_of_colours(advice: Advice, best: RatedWay) -> bool:
    few = min(usual_rounds(advice.pitch), 4)
    return max(len(best.powers), best.way.images) < few and advice.colours < few


def _misses_likely(line: EvenLine, best: RatedWay) -> bool:
    likely = best.objective.likely
    return likely.hot > line.hot or likely.cold < line.cold
