"""Findings about a tray to print: sizes, cards, cautions, and what does not fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.findings import Finding, counted, listed, note, stop, warn
from preprocess.units import digits, place_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.tray.features import TrayFeatures
    from preprocess.tray.measures import TrayMeasures

_OFF = 0.05
"""mm² of bars that may lie beside the card: rounding of corners."""

_FLUSH = 0.15
"""mm that card and marked surface may differ: half a layer, and a card's thickness."""

_LARGE = 200.0
"""mm beyond which many printers have no room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayFigures:
    """Figures of a tray in mm: size; heights of marked surface and card; bars off the card, mm²."""

    size: tuple[float, ...]
    surface: float
    card_top: float
    measures: TrayMeasures
    features: TrayFeatures
    bars_off: float
    parts: int


def tray_print_findings(tray: TrayFigures) -> Iterator[Finding]:
    """All findings about a tray."""
    across, down, high = tray.size
    message = (
        f"the tray measures {across:.1f} × {down:.1f} × {high:.1f} mm; the marked surface of "
        f"{counted(tray.parts, 'part')} lies {tray.surface:.2f} mm above the bed"
    )
    yield note("tray-size", message, "print it flat as it is, without support; focus on a part")
    if max(across, down) > _LARGE:
        message = f"the tray is {max(across, down):.0f} mm long, more than many printers take"
        yield warn("tray-large", message, "make fewer copies, or space them closer")
    yield from _card(tray)
    if tray.features.without_notch:
        message = f"{counted(tray.features.without_notch, 'part')} without room for finger notches"
        yield note("tray-no-notch", message, "push it out through the hole in the floor")
    places = " and ".join(place_text(point) for point in tray.features.points)
    message = (
        f"the tray has crosses at {places} of the drawing, and its upper left corner is cut off"
    )
    yield note("tray-crosses", message, "bring both crosses under the aiming light, beam off")
    yield note(
        "tray-cautions",
        "a printed tray is no shield: it chars and gives off fumes where the beam strikes it, and "
        "its holes open onto the bed",
        "matt card under all bars, nothing shiny under holes; print it of plastic that you know, "
        "never PVC; extract and filter, eyewear on, enclosure closed, never leave it alone",
    )


def _card(tray: TrayFigures) -> Iterator[Finding]:
    slots = tray.features.slots.geoms
    if not len(slots):
        return
    boxes = [one.bounds for one in slots]
    sizes = [f"{x1 - x0 - 0.4:.1f} × {y1 - y0 - 0.4:.1f} mm" for x0, y0, x1, y1 in boxes]
    card = digits(tray.measures.card)
    message = f"cut matt card of {card} mm for the slots: {listed(sizes)}"
    yield note("tray-card", message, "lay it in before you mark, and change it when it is burnt")
    if tray.bars_off > _OFF:
        message = f"{digits(tray.bars_off, 3)} mm² of the bars lie over a pocket, not over card"
        remedy = "give equalize-width more clearance than the pockets have"
        yield stop("tray-bar-off-the-card", message, remedy)
    off = tray.card_top - tray.surface
    if abs(off) > _FLUSH:
        side = "above" if off > 0 else "below"
        message = f"the card lies {abs(off):.2f} mm {side} the marked surface"
        remedy = "give --depth the height of the marked surface, or --card another thickness"
        yield warn("tray-card-not-flush", message, remedy)
