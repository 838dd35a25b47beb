"""Reading options from the recipe: the meaning of elements."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated

from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.artwork.source import Selection
from preprocess.model.declared import Declared, Doc
from preprocess.model.options.fonts import Fonts
from preprocess.model.options.limits import DrawingLimits
from preprocess.model.options.shades import Shades

if TYPE_CHECKING:
    from preprocess.model.bench.machine import Machine
    from preprocess.model.bench.part import Part
    from preprocess.model.bench.relief import Relief
    from preprocess.model.options.lettering import Lettering

DEFAULT_LAYER = "artwork"
"""Layer of shapes that no rule chose: areas are engraved, lines scored."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerRule(Declared):
    """One entry of the recipe's `layers:`: the elements of a layer, its operation and settings."""

    name: Annotated[str, Doc("name of the layer in the output, in the report and on the job sheet")]
    operation: Annotated[Operation, Doc("engrave, score, cut or guide")]
    choose: Annotated[Selection, Doc("elements of the drawing that belong to it")]
    settings: Annotated[Settings, Doc("settings that differ from those of the operation")] = (
        Settings()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingOptions:
    """Options of the reader, taken from the recipe.

    `selectors` are all CSS selectors that occur anywhere in the recipe; each source notes which
    of them match it or a group around it. The folder of `fonts` is a path that can be opened.
    """

    drawing: Drawing = Drawing()
    fonts: Fonts = Fonts()
    limits: DrawingLimits = DrawingLimits()
    texts: tuple[Lettering, ...] = ()
    shades: Shades = Shades()
    layers: tuple[LayerRule, ...] = ()
    settings: dict[Operation, Settings] = field(default_factory=dict)
    parts: tuple[Part, ...] = ()
    reliefs: tuple[Relief | None, ...] = ()
    machine: Machine | None = None
    keep_off: tuple[str, ...] = ()
    selectors: frozenset[str] = frozenset()
