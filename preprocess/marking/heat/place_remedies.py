"""Causes of places outside the window, and the one remedy for their layer as a whole.

No place gets a remedy of its own: what is right for a tip would be wrong for the rest. All that is
told was simulated on this job before: other powers by the index, the rest by `RemedyTrials`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Protocol

from preprocess.marking.heat.window_shares import TOLERATED_SHARE
from preprocess.units import SHARE, digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.heat.index_regions import IndexRegion
    from preprocess.marking.heat.layer_power import LayerPower
    from preprocess.model.bench.filament import Window

_NARROW = 0.6
"""Share of the widest row below which a row counts as short."""

_ROW_END = 1.0
"""mm from the end of a row within which two-way rows come in pairs."""

_START = 1.0
"""mm from the first row over which the plastic is still cold."""

_GAIN = 0.02
"""Share of a layer's area by which less must lie outside for a remedy to be told; half of what
lies outside is enough too."""

_ALIKE = 0.005
"""Shares outside that differ by less are alike: the plainer remedy is told then."""

UNTRIED = "evenmark advise simulates other ways to mark it, and tells what each one gains"
"""For layers of which no remedy could be simulated."""

NONE_HELPS = (
    "no power, speed or order of its rows that was simulated leaves less outside: change the "
    "drawing there, or take it as it is"
)


class TriedRemedy(NamedTuple):
    """A remedy for a whole layer, simulated: what to do, and the share outside then.

    `gain` is what it gains where the share does not say it all, and `but` what is bad about it.
    """

    what: str
    outside: float
    gain: str = ""
    but: str = ""


class RemedyTrials(Protocol):
    """Remedies for an output layer, by its id, that are simulated on this job once asked for.

    None where a remedy is not possible.
    """

    def rows(self, output: str) -> TriedRemedy | None:
        """Its rows marked in rounds; of rounds, their powers solved again."""

    def speed(self, output: str, power: LayerPower) -> TriedRemedy | None:
        """Another speed, at the power where the machine's range ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSettings:
    """Rows of a layer."""

    two_way: bool
    repeats: int


class LayerRemedy(NamedTuple):
    """The remedy for a layer: as each place has it, and with what it comes to for all."""

    brief: str
    full: str


def layer_remedy(
    output: str, power: LayerPower, window: Window, trials: RemedyTrials | None
) -> LayerRemedy:
    """The remedy that leaves least of a layer outside; of those that are alike the plainest.

    Args:
        output: id of the layer.
        power: what one power for all of it can do.
        window: of the filament.
        trials: to simulate what else could be done; without them only powers are told.
    """
    melts = would_melt(power, window)
    told = [] if melts or power.best == power.own else [_set(power, window)]
    if trials is not None and (not told or power.then > TOLERATED_SHARE):
        tried = [trials.speed(output, power)] if power.highest or power.lowest else []
        told += [one for one in (*tried, trials.rows(output)) if one is not None]
    helps = [one for one in told if _helps(one, power)]
    melting = [f"more power alone melts it: {_melting(power, window)}"] if melts else []
    if not helps:
        none = NONE_HELPS if told else UNTRIED
        return LayerRemedy(none, "; ".join([none, *melting]))
    best, plain = _best(helps), helps[0]
    instead = [f"or only {_told(plain)}"] if plain is not best else []
    full = "; ".join([_told(best), *instead, *melting])
    return LayerRemedy(_told(best) if best.gain else best.what, full)


def _helps(one: TriedRemedy, power: LayerPower) -> bool:
    return one.outside < power.now - _GAIN or one.outside < power.now / 2


def _best(helps: Sequence[TriedRemedy]) -> TriedRemedy:
    least = min(one.outside for one in helps)
    return next(one for one in helps if one.outside <= least + _ALIKE)


def _told(one: TriedRemedy) -> str:
    gain = one.gain or f"{digits(100 * one.outside, 3)} % of it is predicted outside then"
    return f"{one.what}: {gain}{one.but}"


def _set(power: LayerPower, window: Window) -> TriedRemedy:
    reached = (
        f", and its hottest place at {power.hottest:.2f} (too heavy from {digits(window.heavy)})"
    )
    but = reached if power.raises and power.overheats else ""
    what = f"set {SHARE.text(power.best)} for the whole layer and test it"
    return TriedRemedy(what, power.then, but=but)


def _melting(power: LayerPower, window: Window) -> str:
    molten = digits(window.molten or 0.0)
    at = SHARE.text(power.best)
    return f"at {at} its hottest place would reach {power.hottest:.2f} (molten from {molten})"


def would_melt(power: LayerPower, window: Window) -> bool:
    """True where the power that suits the layer best would melt its hottest place."""
    molten = window.molten
    return power.raises and molten is not None and power.hottest >= molten


def heavy_cause(place: IndexRegion, rows: RowSettings, power: LayerPower) -> str:
    """Why a place is too heavy."""
    wide = place.row_span >= _NARROW * place.widest
    if wide and rows.two_way and place.from_end < _ROW_END:
        return f"{_rows(place)}, but two-way rows return at once at their ends"
    if not wide:
        return f"{_rows(place)}, against {place.widest:.2f} mm in the widest row"
    if rows.repeats > 1 and not power.raises:
        return f"{_rows(place)}, and earlier repeats have left it warm"
    return f"{_rows(place)}: power and speed of the layer put in too much heat"


def weak_cause(place: IndexRegion) -> str:
    """Why a place is too weak."""
    if place.from_first < _START:
        return f"{_rows(place)}, and the first rows find the plastic cold"
    if place.row_span < _NARROW * place.widest:
        return f"{_rows(place)}, and a piece this thin loses its heat"
    return f"{_rows(place)}: power and speed of the layer put in too little heat"


def _rows(place: IndexRegion) -> str:
    after = "" if place.returns is None else f", and the beam returns after {_ms(place.returns)}"
    return f"rows there are {place.row_span:.2f} mm long{after}"


def _ms(seconds: float) -> str:
    return f"{digits(1e3 * seconds, 3)} ms"
