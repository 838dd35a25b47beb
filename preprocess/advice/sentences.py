"""Advice as text: sentences, table, recipe lines."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from preprocess.advice.ways import edit_of
from preprocess.marking.evenness.sentence import area_percent, objective_sentence, signed_percent
from preprocess.passes.interleave.interleave import Form
from preprocess.recipe.starter.recipe_edit import edit_lines
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.advice.advise import Advice
    from preprocess.advice.rating import RatedWay
    from preprocess.advice.simulate import AdviceRequest
    from preprocess.advice.ways import Way

WAY_HEADINGS = (
    "way",
    "worst place",
    "coldest",
    "outside",
    "seams",
    "at worst",
    "row by row",
    "time",
    "layers",
)

_NOT_GRADED = "not graded"

FIRST_COUPON = "row-span"
"""The coupon that tells most about an ungraded filament."""


def numbered_ways(advice: Advice) -> dict[int, RatedWay]:
    """The ways by the number that a person chooses: 0 is the recipe, 1 the best of the others."""
    others = [one for one in advice.best if not one.way.given]
    return {0: advice.given, **dict(enumerate(others, 1))}


def best_number(advice: Advice) -> int:
    """The number of the best way."""
    ways = numbered_ways(advice)
    return next((n for n, one in ways.items() if advice.best and one is advice.best[0]), 0)


def ways_table(ways: Mapping[int, RatedWay]) -> list[tuple[str, ...]]:
    """One row to a way under its headings, which are the first row.

    What no graded cell had has a column of its own, where there is any.
    """
    some = any(one.ungraded for one in ways.values())
    rows = [(*WAY_HEADINGS, *([_NOT_GRADED] if some else []))]
    for number, one in ways.items():
        beyond = [", ".join(use.words for use in one.ungraded) or "-"] if some else []
        rows.append((f"{number} {one.way.title}", *_cells(one), *beyond))
    return rows


def _cells(one: RatedWay) -> tuple[str, ...]:
    found = one.objective
    likely, worst = found.likely, found.worst
    outside = likely.beyond if likely.outside is None else likely.outside
    return (
        signed_percent(likely.hot),
        signed_percent(likely.cold),
        f"{100 * outside:.1f} %",
        f"{100 * likely.seam:.0f} %",
        f"{signed_percent(worst.hot)} / {signed_percent(worst.cold)}",
        f"{signed_percent(one.bound.hot)} / {signed_percent(one.bound.cold)}",
        f"{found.time:.1f} s",
        str(found.layers),
    )


def answer(advice: Advice) -> str:
    """The advice in one sentence: leave it alone, or the best way and what it gains."""
    given = advice.given.objective
    if advice.alone:
        return (
            f"Leave it alone: {objective_sentence(given, advice.given.powers)}. "
            "No way that is known would be seen to be more even."
        )
    if not advice.helps:
        return (
            f"The recipe as it stands: {objective_sentence(given, advice.given.powers)}. "
            "No way that was tried is better."
        )
    best = advice.best[0]
    gained = objective_sentence(best.objective, best.powers, before=given)
    return f"Best, {best.way.title}: {gained}."


def closing_sentences(advice: Advice, recipe: str) -> Iterator[str]:
    """Advice on the result: what to check, what to grade first, and cautions."""
    what = "the window" if advice.calibrated else "± 10 % of the median"
    yield (
        f"Worst place and coldest: hottest and coldest connected 0.5 mm² over the median. Outside: "
        f"area beyond {what}. At worst: if the spread of the heat, the least known figure, is at "
        "either end of its interval. Row by row: about as even as a power for each row would make "
        "this way."
    )
    yield from _grade_first(advice, recipe)
    ways = [one.way for one in advice.best]
    if any(way.form is Form.STRIPS for way in ways):
        yield (
            "Strips rely on the rule by which your software lays its first row: mark a first-row "
            "coupon and see that no row is missing or doubled."
        )
    if any(way.images for way in ways):
        yield (
            "Greys rely on the curve in the machine file, and on software that marks one row to "
            "each row of pixels, without dithering or a contrast of its own: mark a spare part "
            "first."
        )
    if any(way.form is not None or way.images > 1 for way in ways):
        yield (
            "Interleaving evens out the heat index. Where marks follow the flash under the beam "
            "instead, it gains nothing: a rastered-interleaved coupon shows which."
        )
    if any(way.angle is not None for way in ways):
        yield (
            "Rows are turned across pieces that lie along them, so what shows of single rows will "
            "run the other way: look at a spare part first."
        )
    if any(way.bars for way in ways):
        yield (
            "Bars mark what lies beside the part: put a matt sacrificial card there, never bare "
            "metal."
        )
    yield "This is a prediction, not a promise that a setting is safe or right; a coupon decides."


def _grade_first(advice: Advice, recipe: str) -> Iterator[str]:
    """What must be graded before the best way can be relied on, and the commands for it."""
    best = advice.best[0]
    if not advice.calibrated:
        yield (
            f"This filament is not graded, so ways are only ranked ({advice.trust}), and its power "
            f"stays as it is. Mark and grade a coupon first: evenmark coupon {recipe} "
            f"{FIRST_COUPON}"
        )
        if best.way.form is Form.OWN_ROWS:
            yield (
                "Own rows are scored: they need another power than swept rows. Grade them too: "
                f"evenmark coupon {recipe} own-rows"
            )
    elif best.ungraded:
        words = ", ".join(f"{use.words} (graded: {use.graded})" for use in best.ungraded)
        coupons = dict.fromkeys(f"evenmark coupon {recipe} {use.coupon}" for use in best.ungraded)
        yield f"No graded cell had {words}. Mark and grade first: {'; '.join(coupons)}"


def left_out_sentences(advice: Advice) -> list[str]:
    """Reasons why ways were left out, each once, as ways that differ by colours only are."""
    found: dict[str, list[Way]] = {}
    for one in advice.left_out:
        found.setdefault(one.why, []).append(one.way)
    return [f"left out: {' / '.join(_named(ways))}: {why}" for why, ways in found.items()]


def _named(ways: Sequence[Way]) -> list[str]:
    kinds = Counter(way.kind for way in ways)
    return list(dict.fromkeys(way.kind if kinds[way.kind] > 1 else way.title for way in ways))


def recipe_lines(job: AdviceRequest, one: RatedWay) -> tuple[str, str]:
    """Lines to paste into the recipe, and what to remove from it (often nothing)."""
    edit = edit_of(one.way, job.loaded.recipe.passes)
    engraved = [rule for rule in job.loaded.recipe.layers if rule.operation == "engrave"]
    said = [
        f"{key} of layer {rule.name}"
        for rule in engraved
        for key in edit.engrave
        if getattr(rule.settings, key) is not None
    ]
    found = [f"Take out the {', '.join(said)}."] if said else []
    if edit.one_layer:
        names = ", ".join(rule.name for rule in engraved)
        found.append(f"Take out the layers {names}: their settings are equal, so one will do.")
    scored = [rule.name for rule in job.loaded.recipe.layers if rule.operation == "score"]
    if edit.score and scored:
        names = ", ".join(scored)
        found.append(f"Give the scored layers {names} their power and speed as settings: first.")
    return edit_lines(edit), " ".join(found)


def way_sentence(one: RatedWay) -> str:
    """Powers of the colours and the share outside, for a way's own paragraph."""
    powers = ", ".join(digits(100 * power, 3) for power in one.powers)
    likely = one.objective.likely
    beyond = likely.beyond if likely.outside is None else likely.outside
    words = "Powers in marking order"
    if one.way.images:
        words = "The greys set the power; mean of each image in marking order"
    return f"{words}: {powers} %; {area_percent(beyond)} outside."
