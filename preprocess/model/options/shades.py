"""Policy for gradients and for paint that is neither full nor bare."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt, Le

from preprocess.model.declared import Declared, Doc
from preprocess.units import Share

_HALF = 0.5


class Plain(StrEnum):
    """The policy without numbers."""

    SOLID = "solid"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shades(Declared):
    """Marking of gradients; without bands or threshold a gradient is solid, one even area.

    Darkness is the contrast of a paint with the page colour, opacity included. On a white page
    black has 100 %, the grey #808080 50 %, black of 50 % opacity 50 %. A gradient is cut where its
    darkness crosses from band to band, or the threshold. Paint nearer to the bare page than to
    the lightest band, or below the threshold, is not marked. Only areas to engrave are cut; lines,
    and outlines to score or cut, stay whole.
    """

    bands: Annotated[
        int | None,
        Ge(2),
        Le(8),
        Doc("number of levels; their powers follow their darkness, the darkest has 100 %"),
    ] = None
    threshold: Annotated[
        Share | None, Gt(0), Le(1), Doc("mark paint of at least this darkness, with one power")
    ] = None
    flat_fills: Annotated[
        bool, Doc("treat flat areas by their darkness too; otherwise they are marked whole")
    ] = False

    @property
    def is_solid(self) -> bool:
        """True if all shades are marked alike."""
        return self.bands is None and self.threshold is None

    @property
    def limits(self) -> tuple[float, ...]:
        """Darknesses at which the level changes, ascending; none where shades are solid."""
        if self.bands is not None:
            return tuple((2 * k - 1) / (2 * self.bands) for k in range(1, self.bands + 1))
        return () if self.threshold is None else (self.threshold,)

    @property
    def opaque(self) -> float:
        """Opacity from which paint of the page colour hides what lies under it.

        With a threshold, black under it would then be lighter than what is marked.
        """
        return _HALF if self.threshold is None else 1 - self.threshold

    @property
    def shares(self) -> tuple[float, ...]:
        """Power of each level as a share of the layer's, the darkest first."""
        count = self.bands or 0
        return tuple((count - k) / count for k in range(count))
