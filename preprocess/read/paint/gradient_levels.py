"""Sections of a gradient by the level at which they are marked, from its stops.

Darkness is the lightness that a paint differs by from the page, opacity counted in. Lightness is
that of the colour as stored, weighted by ITU-R BT.709, so that a person's 50 % grey has 50 %.
Between two stops colour and opacity change evenly, so darkness follows a parabola there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from preprocess.read.scene.painted import GradientStop
from preprocess.read.style.colours import channels_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.model.options.shades import Shades

CLEAR_CLASS = 0
COVER_CLASS = -1
"""Classes that are not marked: what lies under shows, or is hidden by the page's colour."""

_MOST_CUTS = 1000
"""A gradient is cut along at most this many lines."""

_NOTHING = 1e-9
_WEIGHTS = (0.2126, 0.7152, 0.0722)


@dataclass(frozen=True, slots=True)
class GradientSections:
    """Ascending offsets, and the class before the first, between them, and after the last."""

    cuts: tuple[float, ...]
    classes: tuple[int, ...]


@lru_cache(maxsize=1024)
def page_contrast(colour: str, page_colour: str) -> float:
    """Contrast of a colour to the page: 1 for black on white; negative if lighter."""
    page = _lightness(page_colour)
    return (page - _lightness(colour)) / max(page, 1 - page)


def _lightness(colour: str) -> float:
    return sum(w * c for w, c in zip(_WEIGHTS, channels_of(colour), strict=True))


def paint_level(contrast_: float, alpha: float, policy: Shades) -> int:
    """The level of a paint, 1 for the darkest, or why it is not marked."""
    darkness = abs(contrast_) * alpha
    limits = policy.limits or (_NOTHING,)
    passed = sum(darkness >= limit - _NOTHING for limit in limits)
    if policy.is_solid:
        passed = int(darkness > _NOTHING)
    if not passed:
        return COVER_CLASS if alpha >= policy.opaque else CLEAR_CLASS
    return len(limits) - passed + 1


def gradient_sections(
    stops: Sequence[GradientStop], spread: str, policy: Shades, veil: float
) -> GradientSections:
    """Sections of one period of a gradient, offsets 0 … 1, and beyond it for the spread "pad".

    Args:
        stops: with ascending offsets, at least one.
        spread: "pad", "reflect" or "repeat"; only "pad" tells of offsets below 0 and above 1.
        policy: what is told apart.
        veil: opacity of the element, by which that of the stops is multiplied.
    """
    dimmed = [GradientStop(s.offset, s.contrast, s.alpha * veil) for s in stops]
    first, last = dimmed[0], dimmed[-1]
    line = [
        GradientStop(0.0, first.contrast, first.alpha),
        *dimmed,
        GradientStop(1.0, last.contrast, last.alpha),
    ]
    cuts: list[float] = [0.0]
    classes = [paint_level(first.contrast, first.alpha, policy)]
    for one, two in pairwise(line):
        if two.offset <= one.offset:
            continue
        inner = [0.0, *_changes(one, two, policy), 1.0]
        for begin, end in pairwise(inner):
            classes.append(_class_within(one, two, (begin, end), policy))
            cuts.append(one.offset + end * (two.offset - one.offset))
    classes.append(paint_level(last.contrast, last.alpha, policy))
    if spread != "pad":
        return GradientSections(tuple(cuts), tuple(classes))
    return _merged(cuts, classes)


def repeat_sections(
    one: GradientSections, spread: str, reach: tuple[float, float]
) -> GradientSections | None:
    """The stretches between two offsets, with repeats; None when there are too many cuts."""
    if spread == "pad":
        return one
    first, last = math.floor(reach[0]), math.ceil(reach[1])
    inner, classes = one.cuts, one.classes[1:-1]
    if (last - first) * (len(set(classes)) > 1) * len(classes) > _MOST_CUTS:
        return None
    if len(set(classes)) == 1:
        return GradientSections((), classes[:1])
    found_cuts: list[float] = [float(first)]
    found: list[int] = []
    for period in range(first, last):
        back = spread == "reflect" and period % 2 == 1
        ends = [1 - cut for cut in inner[::-1]] if back else list(inner)
        found_cuts += [period + cut for cut in ends[1:]]
        found += classes[::-1] if back else classes
    return _merged(found_cuts, [found[0], *found, found[-1]])


def _changes(one: GradientStop, two: GradientStop, policy: Shades) -> list[float]:
    """Shares of the way from one stop to the next where the class may change."""
    if policy.is_solid:
        return []
    a, b = one.alpha, two.alpha - one.alpha
    c, d = one.contrast, two.contrast - one.contrast
    found = {
        x
        for limit in policy.limits
        for y in (limit, -limit)
        for x in _roots(b * d, a * d + b * c, a * c - y)
    }
    found |= set(_roots(0.0, b, a - policy.opaque))
    return sorted(x for x in found if 0 < x < 1)


def _roots(a: float, b: float, c: float) -> tuple[float, ...]:
    """Real roots of a x² + b x + c."""
    if abs(a) < _NOTHING:
        return (-c / b,) if abs(b) > _NOTHING else ()
    inner = b * b - 4 * a * c
    if inner < 0:
        return ()
    half = -(b + math.copysign(math.sqrt(inner), b)) / 2
    return (half / a, c / half) if half else (0.0,)


def _class_within(
    one: GradientStop, two: GradientStop, span: tuple[float, float], policy: Shades
) -> int:
    def at(x: float) -> tuple[float, float]:
        contrast_ = one.contrast + x * (two.contrast - one.contrast)
        return contrast_, one.alpha + x * (two.alpha - one.alpha)

    found = paint_level(*at(sum(span) / 2), policy)
    if policy.is_solid and found == COVER_CLASS and min(at(x)[1] for x in span) < policy.opaque:
        return CLEAR_CLASS
    return found


def _merged(cuts: Sequence[float], classes: Sequence[int]) -> GradientSections:
    """Without cuts between equal classes."""
    kept = [i for i in range(len(cuts)) if classes[i] != classes[i + 1]]
    inner = (classes[0], *(classes[i + 1] for i in kept))
    return GradientSections(tuple(cuts[i] for i in kept), tuple(inner))
