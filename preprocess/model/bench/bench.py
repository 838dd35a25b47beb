"""The bench that a pass is given beside the artwork: machine, filament and part."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.model.bench.machine import Machine

if TYPE_CHECKING:
    from preprocess.model.bench.filament import Filament
    from preprocess.model.bench.part import Part
    from preprocess.model.bench.relief import Relief


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """The frozen set of machine, filament and parts; what is not known is None or empty.

    `reliefs` are those of the parts that have a model, in the order of the parts, None for others.
    """

    machine: Machine | None = None
    filament: Filament | None = None
    parts: tuple[Part, ...] = ()
    reliefs: tuple[Relief | None, ...] = ()

    @property
    def machine_or_default(self) -> Machine:
        """The machine; where none is named, one that has every default."""
        return self.machine or Machine()

    @property
    def kept_off_by_models(self) -> tuple[int, ...]:
        """Numbers of the parts whose models keep something off; these areas come first."""
        pairs = zip(self.parts, self.reliefs, strict=False)
        return tuple(n for n, (part, relief) in enumerate(pairs) if keeps_off(part, relief))


def keeps_off(part: Part, relief: Relief | None) -> bool:
    """Test whether the model of a part keeps marks off some of it."""
    if relief is None or not part.keep_off:
        return False
    return any(area.area > 0 for area in (relief.raised, relief.sunk, relief.slanted))
