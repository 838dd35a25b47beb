"""Findings on measured tones: where they follow no curve of the heat, and are left out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.calibrate.tones.tone_fit import FEWEST
from preprocess.findings import Finding, counted, note, warn

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.calibrate.tones.tone_fit import ToneFit

_WHY = "as char or foam does"


def tone_findings(tones: ToneFit | None, *, measured: bool) -> Iterator[Finding]:
    """A warning where tones do not follow the heat, or are too few, at most one.

    Args:
        tones: the fit of tones, if there are enough.
        measured: whether any coupon was measured.
    """
    if tones is None:
        if measured:
            yield note(
                "tones-too-few",
                f"fewer than {FEWEST} tones were measured of cells that did not melt: they count "
                "for nothing yet",
                "photograph a blades coupon",
            )
        return
    places = tones.model.places
    if tones.used is None:
        yield warn(
            "tones-do-not-fit",
            f"{counted(len(places), 'measured tone')} follow no steady curve of the predicted "
            f"heat, {_WHY}: only the grades count",
            "look at the plot of --plot; mark less hot cells, or trust the grades near even ones",
        )
    elif tones.left_out:
        cells = sorted({"{1} of {0}".format(*places.names[n]) for n in places.cell[~tones.used]})
        yield warn(
            "tones-left-out",
            f"the hottest {tones.left_out} of {counted(len(places), 'measured tone')} follow "
            f"another curve than the rest, {_WHY}, and are left out: {', '.join(cells)}",
            "stay below that heat; what is fitted holds for the cooler places",
        )
