"""Causes in sentences: what most of the unevenness follows, and how to find out more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.causes.found import HEAT, LINES, PATCH, TILT
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.causes.found import FoundCause
    from preprocess.causes.marked_places import MarkedPlaces
    from preprocess.causes.stripes import Stripes

_SURE = 0.9
"""Probability from which a cause is named without "perhaps"."""

_SURER = 0.99
"""The same for all but the largest."""

_ALIKE = 0.6
"""Share of the index from which a plane and the drawing are too alike to be parted."""

_CENTRAL = 0.25
"""Share of the part's size within which a place is in its middle."""

_BLURRED = 0.8
"""Share of the height of lines below which it is said that the photo blurs them."""

_FAINT = 1.0
"""ΔL* below which the eye sees no unevenness."""

TURN = (
    "Mark the same part turned by 180° on the bed: what stays with the bed is tilt or focus, what "
    "turns with the drawing is heat."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseWords:
    """What the sentences speak of: places, heat's tone at each, the patch, the lines, ΔL*.

    `shown` is the share of the lines' height that the photos let through.
    """

    places: MarkedPlaces
    heat: Floats
    bell: Floats | None
    stripes: Stripes | None
    alike: float
    uneven: float
    shown: float = 1.0


def sentences_of(found: Sequence[FoundCause], words: CauseWords) -> tuple[str, ...]:
    """Sentences on all causes, the largest first, and what to do."""
    if not found:
        seen = "which the eye hardly sees" if words.uneven < _FAINT else "and no cause stands out"
        return (f"The mark is uneven by {words.uneven:.1f} ΔL*, {seen}.",)
    said = [_sentence(one, words, first=not number) for number, one in enumerate(found)]
    names = {one.name for one in found}
    doubted = any(one.sure < _SURE for one in found if one.name in {HEAT, TILT})
    if names & {HEAT, TILT} and (words.alike > _ALIKE or doubted):
        said.append(TURN)
    elif TILT in names:
        said.append("Check that the part lies flat, and the focus at both of its ends.")
    if PATCH in names:
        said.append(
            "Look at the patch on other parts: if it stays in place, clean the lens; if it moves, "
            "it is the print."
        )
    if LINES in names:
        said.append("Mark another part turned by 90°: lines of the print turn with it.")
    return tuple(said)


def _sentence(one: FoundCause, words: CauseWords, *, first: bool) -> str:
    perhaps = "perhaps " if one.sure < (_SURE if first else _SURER) else ""
    what = {
        HEAT: f"{perhaps}follows the drawing: {_way(words)} where heat gathers",
        TILT: f"{perhaps}changes steadily across the part, as by a tilt or a focus that is off",
        LINES: f"{perhaps}lies in lines, {_lines(words.stripes)}, as of the print",
        PATCH: f"{perhaps}is a patch {_place(words)}, of the lens or of the print",
    }[one.name]
    seen = one.loss * (words.shown if one.name == LINES else 1.0)
    blurred = f"; the photo blurs them to {seen:.1f}" if seen < _BLURRED * one.loss else ""
    if first:
        share = seen > words.uneven / 2
        of = (
            f"{one.loss:.1f} ΔL*{blurred}"
            if blurred
            else f"{one.loss:.1f} of {words.uneven:.1f} ΔL*"
        )
        return f"{'Most' if share else 'The largest part'} of it {what} ({of})."
    return f"Another part {what} ({one.loss:.1f} ΔL*{blurred})."


def _way(words: CauseWords) -> str:
    """Whether the mark is heavier or weaker where the index is high."""
    sign = np.sign(np.median(words.places.tone)) or 1.0
    slope = float(np.cov(words.heat * sign, words.places.index)[0, 1])
    return "heavier" if slope > 0 else "weaker"


def _lines(stripes: Stripes | None) -> str:
    return "" if stripes is None else f"{digits(round(stripes.apart, 2))} mm apart"


def _place(words: CauseWords) -> str:
    """Where the patch lies on the part, in words."""
    if words.bell is None:
        return ""
    said = []
    for at, held, ends in (
        (words.bell[1], words.places.y, ("top", "bottom")),
        (words.bell[0], words.places.x, ("left", "right")),
    ):
        low, high = float(held.min()), float(held.max())
        share = (at - (low + high) / 2) / max(high - low, 1e-9)
        if abs(share) > _CENTRAL / 2:
            said.append(ends[int(share > 0)])
    return f"near the {' '.join(said)}" if said else "near the middle"
