"""Found causes: each with what the fit loses without it, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.arrays import Floats

HEAT, TILT, LINES, PATCH = "heat", "tilt", "lines", "patch"


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundCause:
    """A cause: its name, the ΔL* (rms) that only it explains, and its probability."""

    name: str
    loss: float
    sure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Causes:
    """All found causes, the largest first.

    `uneven` is the standard deviation of all tones, `rest` that of what no cause explains, ΔL*.
    `alike` is the share of the predicted index that a plane would explain as well. `heat` is the
    tone that heat adds at each place of the map (ΔL*, rows × columns, nan where nothing is known;
    0 where heat is no cause). `sentences` say all this, the cause first.
    """

    found: tuple[FoundCause, ...]
    uneven: float
    rest: float
    alike: float
    heat: Floats
    sentences: tuple[str, ...]

    @property
    def parts(self) -> Mapping[str, float]:
        """ΔL* by cause, the largest first."""
        return MappingProxyType({one.name: one.loss for one in self.found})
