"""Measures of a tray: what a person gives, and what a printer needs."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayMeasures:
    """Measures in mm.

    `clearance` is the gap per side between part and pocket. `depth` is that of the pockets, the
    height of the marked surface unless given. `floor` lies under the parts, `card` is the card's
    thickness, `layer` and `nozzle` those of the printer.
    """

    clearance: float = 0.2
    depth: float | None = None
    floor: float = 1.2
    card: float = 0.6
    layer: float = 0.2
    nozzle: float = 0.4

    def on_layers(self, height: float) -> float:
        """A height rounded to whole layers, one at least."""
        return round(max(1, round(height / self.layer)) * self.layer, 6)


WALL = 3.0
"""mm of plate that stay between a pocket and what is cut beside it."""

RIM = 10.0
"""mm of plate around pockets and cards: room for the datum crosses."""

FOOT = 0.3
"""mm by which the first layers of a print may bulge; room is left for that of the part."""

TAPER = 0.4
"""mm by which the tray's own first layers are narrower, against its own bulge."""

LEAD_IN = 0.6
"""mm from the top over which pockets widen, by as much, so that parts find their way in."""
