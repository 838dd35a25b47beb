"""What the walk through the document yields: places, and things painted there."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from preprocess.geometry.lines.dashes import MOST_DASHES
from preprocess.read.style.computed import Style
from preprocess.read.xml.affine import IDENTITY

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.geometry.lines.isolines import Across, Around
    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.paint.gradient_levels import Stop
    from preprocess.read.shapes.compact_shapes import Outline
    from preprocess.read.xml.lengths import Box


@dataclass(frozen=True, slots=True)
class Frame:
    """What an element takes from its surroundings.

    `matrix` maps its user units to mm of the page, `box` is the nearest viewport in user units,
    `clip` an area in mm outside which nothing is painted, `alpha` the opacity of the groups
    around it. `label` and `group` are the label and the id of the nearest group that has one.
    `within` is the path of names of the uses around it, `uses` the elements that they copy.
    `context` holds the fill and stroke of the shape that carries a marker, `size` the width and
    height that a use gives. `silhouette` asks for outlines whatever their paint, for clips;
    `cells` asks for the cells of letters in their place, as bounding boxes count them; `quiet`
    suppresses remarks, `hidden` marks what is not displayed. `kept` holds what was worked out from
    this very frame.
    """

    matrix: Matrix = IDENTITY
    style: Style = field(default_factory=Style)
    box: Box = (0.0, 0.0)
    clip: MultiPolygon | None = None
    alpha: float = 1.0
    label: str | None = None
    group: str | None = None
    within: str = ""
    uses: tuple[object, ...] = ()
    selectors: frozenset[str] = frozenset()
    context: tuple[str, str] = ("none", "none")
    size: tuple[str, str] | None = None
    silhouette: bool = False
    cells: bool = False
    quiet: bool = False
    hidden: bool = False
    kept: dict[Any, Any] = field(default_factory=dict, init=False, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is stroked, in the px of the stroke's own space; `matrix` leads to mm."""

    width: float
    cap: str
    join: str
    miter_limit: float
    matrix: Matrix
    dashes: tuple[float, ...] = ()
    dash_offset: float = 0.0
    path_length: float | None = None
    most_dashes: int = MOST_DASHES


@dataclass(frozen=True, slots=True)
class Shade:
    """A gradient: the lines that its offsets follow, how it goes on beyond 0 and 1, its stops.

    `colours` are those of its stops; `veil` is the opacity of the element that it paints.
    """

    course: Across | Around
    spread: str
    stops: tuple[Stop, ...]
    colours: tuple[str, ...]
    veil: float = 1.0


@dataclass(frozen=True, slots=True)
class Ink:
    """A paint that has been worked out: #rrggbb and opacity; `shaded` where it has several.

    Of a gradient, `colour` is the one that stands for it, `alpha` the opacity where it is densest.
    """

    colour: str
    alpha: float = 1.0
    shaded: bool = False
    shade: Shade | None = None

    def veiled(self, by: float) -> Ink:
        """The same paint under an opacity."""
        shade = replace(self.shade, veil=self.shade.veil * by) if self.shade else None
        return replace(self, alpha=self.alpha * by, shade=shade)


@dataclass(frozen=True, slots=True)
class Painted:
    """An outline in user units that is filled, or stroked where it has a pen, with one ink.

    `name` is the element's id or its path of positions; `ink` is None where nothing is painted.
    """

    name: str
    line: int | None
    label: str | None
    selectors: frozenset[str]
    path: Outline
    matrix: Matrix
    ink: Ink | None = None
    rule: str = "nonzero"
    pen: Pen | None = None
    clip: MultiPolygon | None = None
    hidden: bool = False
