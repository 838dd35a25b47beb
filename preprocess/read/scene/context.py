"""Rendering context: the state that an element inherits from its ancestors."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from preprocess.model.artwork.source import EnclosingGroups
from preprocess.read.style.computed import Style
from preprocess.read.xml.affine import IDENTITY

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper
    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.painted import Blend
    from preprocess.read.xml.lengths import WidthHeight


@dataclass(frozen=True, slots=True)
class RenderContext:
    """Coordinate system, style and state in which an element is drawn.

    `matrix` maps its user units to mm of the page, `box` is the nearest viewport in user units,
    `clip` an area in mm outside which nothing is painted, `alpha` the opacity of the groups
    around it; `blend` mixes it with what lies under it, `apart` says that a group around it is put
    together by itself first. `enclosing` names the groups around it.
    `within` is the path of names of the uses around it, `uses` the elements that they copy.
    `marker_paints` holds the fill and stroke of the shape that carries a marker, `size` the width
    and height that a use gives. `silhouette` asks for outlines whatever their paint, for clips;
    `cells` asks for the cells of letters in their place, as bounding boxes count them; `quiet`
    suppresses remarks, `hidden` marks elements that are not displayed. `kept` caches values
    derived from this very context.
    """

    matrix: Matrix = IDENTITY
    style: Style = field(default_factory=Style)
    box: WidthHeight = (0.0, 0.0)
    clip: MultiPolygon | None = None
    alpha: float = 1.0
    blend: Blend | None = None
    apart: bool = False
    enclosing: EnclosingGroups = EnclosingGroups()
    within: str = ""
    uses: tuple[object, ...] = ()
    selectors: frozenset[str] = frozenset()
    marker_paints: tuple[str, str] = ("none", "none")
    size: tuple[str, str] | None = None
    silhouette: bool = False
    cells: bool = False
    quiet: bool = False
    hidden: bool = False
    kept: dict[Any, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    def entering(self, element: ElementWrapper, **changes: Any) -> RenderContext:
        """The context inside an element that this one refers to."""
        return replace(self, uses=(*self.uses, element), **{"size": None, **changes})
