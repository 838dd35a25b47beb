"""The bench that a pass is given beside the artwork: machine, filament and part."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.model.bench.machine import Machine

if TYPE_CHECKING:
    from preprocess.model.bench.filament import Filament
    from preprocess.model.bench.part import Part


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """The frozen set of machine, filament and parts; what is not known is None or empty."""

    machine: Machine | None = None
    filament: Filament | None = None
    parts: tuple[Part, ...] = ()

    @property
    def machine_or_default(self) -> Machine:
        """The machine; where none is named, one that has every default."""
        return self.machine or Machine()
