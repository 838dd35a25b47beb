"""Causes and remedies of places outside the window, and the remedy for a layer as a whole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.units import SHARE, digits

if TYPE_CHECKING:
    from preprocess.marking.heat.index_regions import IndexRegion
    from preprocess.marking.heat.layer_power import LayerPower
    from preprocess.model.bench.filament import Window

_NARROW = 0.6
"""Share of the widest row below which a row counts as short."""

_ROW_END = 1.0
"""mm from the end of a row within which two-way rows come in pairs."""

_START = 1.0
"""mm from the first row over which the plastic is still cold."""

EVEN_OUT = (
    "mark its rows in rounds with interleave: evenmark advise simulates such ways and tells what "
    "each one gains"
)

_SOLVE_ROUNDS = "solve the powers of its rounds again with solve-power"


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSettings:
    """Rows of a layer; `interleaved` says that they are marked in rounds."""

    two_way: bool
    repeats: int
    interleaved: bool = False


def too_heavy(place: IndexRegion, rows: RowSettings, power: LayerPower) -> tuple[str, str]:
    """Cause of a place that is too heavy, and the remedy for its whole layer."""
    wide = place.row_span >= _NARROW * place.widest
    remedy = _for_all(power, rows, wanted=power.lowers)
    if wide and rows.two_way and place.from_end < _ROW_END:
        return f"{_rows(place)}, but two-way rows return at once at their ends", remedy
    if not wide:
        return f"{_rows(place)}, against {place.widest:.2f} mm in the widest row", remedy
    if rows.repeats > 1 and not power.raises:
        return f"{_rows(place)}, and earlier repeats have left it warm", remedy
    return f"{_rows(place)}: power and speed of the layer put in too much heat", remedy


def too_weak(place: IndexRegion, rows: RowSettings, power: LayerPower) -> tuple[str, str]:
    """Cause of a place that is too weak, and the remedy for its whole layer."""
    remedy = _for_all(power, rows, wanted=power.raises)
    if place.from_first < _START:
        return f"{_rows(place)}, and the first rows find the plastic cold", remedy
    if place.row_span < _NARROW * place.widest:
        return f"{_rows(place)}, and a piece this thin loses its heat", remedy
    return f"{_rows(place)}: power and speed of the layer put in too little heat", remedy


def _for_all(power: LayerPower, rows: RowSettings, *, wanted: bool) -> str:
    """The layer's best power where that helps the place, else what evens out the whole layer.

    No place gets a remedy of its own: what is right for a tip would be wrong for the rest.
    """
    if not wanted:
        return _instead(power, interleaved=rows.interleaved)
    first = "; first even out its hottest places" if power.raises and power.overheats else ""
    return f"{_set(power)}{first}"


def _set(power: LayerPower) -> str:
    return f"set {SHARE.text(power.best)} for the whole layer and test it"


def _instead(power: LayerPower, *, interleaved: bool) -> str:
    if power.best == power.own and (power.highest or power.lowest):
        way = "slower" if power.highest else "faster"
        return f"the machine has no power that does better: mark the layer {way} and test it"
    return _SOLVE_ROUNDS if interleaved else EVEN_OUT


def would_melt(power: LayerPower, window: Window) -> bool:
    """True where the power that suits the layer best would melt its hottest place."""
    molten = window.molten
    return power.raises and molten is not None and power.hottest >= molten


def for_whole_layer(power: LayerPower, window: Window, *, interleaved: bool) -> str:
    """Remedy for a layer of which much lies outside the window; its power was simulated."""
    if power.best == power.own:
        return _instead(power, interleaved=interleaved)
    even_out = _SOLVE_ROUNDS if interleaved else EVEN_OUT
    reached = f"its hottest place would reach {power.hottest:.2f} (too heavy from "
    reached += digits(window.heavy)
    if would_melt(power, window):
        at = SHARE.text(power.best)
        molten = digits(window.molten or 0.0)
        return f"{even_out}; more power alone melts it: at {at} {reached}, molten from {molten})"
    remedy = f"{_set(power)}: {digits(100 * power.then, 3)} % of it is predicted outside then"
    if power.raises and power.overheats:
        return f"{remedy}; before that, {even_out}, since {reached})"
    if power.highest or power.lowest:
        return f"{remedy}; for the rest, mark it {'slower' if power.highest else 'faster'} too"
    return remedy


def _rows(place: IndexRegion) -> str:
    after = "" if place.returns is None else f", and the beam returns after {_ms(place.returns)}"
    return f"rows there are {place.row_span:.2f} mm long{after}"


def _ms(seconds: float) -> str:
    return f"{digits(1e3 * seconds, 3)} ms"
