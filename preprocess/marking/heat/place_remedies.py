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
    "even out its heat with equalize-width, or give zones powers of their own with "
    "tag-power: {by: heat} and solve-power"
)


_EVEN_ROWS = (
    "let hatch mark every third row first with every: 3, or lengthen short rows in the drawing"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSettings:
    """Rows of a layer; `rounds` is 0 unless they are own rows, traced as lines."""

    two_way: bool
    repeats: int
    rounds: int = 0


def too_heavy(place: IndexRegion, rows: RowSettings, power: LayerPower) -> tuple[str, str]:
    """Cause and remedy of a place that is too heavy."""
    wide = place.row_span >= _NARROW * place.widest
    if wide and rows.two_way and place.from_end < _ROW_END:
        return (
            f"{_rows(place)}, but two-way rows return at once at their ends",
            "mark this layer one-way",
        )
    if not wide and rows.rounds:
        return f"{_rows(place)}, against {place.widest:.2f} mm in the widest row", _EVEN_ROWS
    if not wide:
        remedy = (
            "lengthen the rows with equalize-width, or give the narrow zone a power of its own "
            "with tag-power, or merge it with what lies beside it"
        )
        return f"{_rows(place)}, against {place.widest:.2f} mm in the widest row", remedy
    if rows.repeats > 1 and not power.raises:
        return (f"{_rows(place)}, and earlier repeats have left it warm", "mark it fewer times")
    cause = f"{_rows(place)}: power and speed of the layer put in too much heat"
    return cause, _for_all(power, rows, wanted=power.lowers)


def too_weak(place: IndexRegion, rows: RowSettings, power: LayerPower) -> tuple[str, str]:
    """Cause and remedy of a place that is too weak."""
    if place.from_first < _START:
        return (
            f"{_rows(place)}, and the first rows find the plastic cold",
            "begin with a bar or with a part of the mark that may be weaker",
        )
    if place.row_span < _NARROW * place.widest:
        return (
            f"{_rows(place)}, and a piece this thin loses its heat",
            "thicken it in the drawing",
        )
    cause = f"{_rows(place)}: power and speed of the layer put in too little heat"
    return cause, _for_all(power, rows, wanted=power.raises)


def _for_all(power: LayerPower, rows: RowSettings, *, wanted: bool) -> str:
    """The layer's best power where that helps the place, else what to do instead."""
    if not wanted:
        return _instead(power, own_rows=rows.rounds > 0)
    first = "; first even out its hottest places" if power.raises and power.overheats else ""
    return f"{_set(power)}{first}"


def _set(power: LayerPower) -> str:
    return f"set {SHARE.text(power.best)} for the whole layer and test it"


def _instead(power: LayerPower, *, own_rows: bool) -> str:
    if power.highest or power.lowest:
        way = "slower" if power.highest else "faster"
        return f"the machine has no power that does better: mark the layer {way} and test it"
    return f"no one power suits the whole layer: {_EVEN_ROWS if own_rows else EVEN_OUT}"


def for_whole_layer(power: LayerPower, window: Window, *, own_rows: bool) -> str:
    """Remedy for a layer of which much lies outside the window."""
    if power.best == power.own:
        return _instead(power, own_rows=own_rows)
    even_out = _EVEN_ROWS if own_rows else EVEN_OUT
    remedy = f"{_set(power)}: {digits(100 * power.then, 3)} % of it is predicted outside then"
    if power.raises and power.overheats:
        molten = "" if window.molten is None else f", molten from {digits(window.molten)}"
        return (
            f"{remedy}; before that, {even_out}, since its hottest place would reach "
            f"{power.hottest:.2f} (too heavy from {digits(window.heavy)}{molten})"
        )
    if power.highest or power.lowest:
        return f"{remedy}; for the rest, mark it {'slower' if power.highest else 'faster'} too"
    return remedy


def _rows(place: IndexRegion) -> str:
    after = "" if place.returns is None else f", and the beam returns after {_ms(place.returns)}"
    return f"rows there are {place.row_span:.2f} mm long{after}"


def _ms(seconds: float) -> str:
    return f"{digits(1e3 * seconds, 3)} ms"
