"""Sources of a shape in the drawing, for messages and for selections."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from preprocess.model.declared import Declared, Doc

if TYPE_CHECKING:
    from shapely import MultiLineString, MultiPolygon


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection(Declared):
    """Selection of elements of the drawing; every given key must match.

    A selection that matches nothing is refused as a slip of the pen, unless it is `optional`.
    """

    label: Annotated[
        str | None, Doc("label of an enclosing layer or group; ids of groups where none has one")
    ] = None
    colour: Annotated[str | None, Doc("painted colour as computed, such as '#d06000'")] = None
    select: Annotated[str | None, Doc("CSS selector: '#id', '.class' or an element name")] = None
    optional: Annotated[bool, Doc("accept a drawing that has none of them")] = False

    @property
    def is_empty(self) -> bool:
        """True if no key is given."""
        return self.label is None and self.colour is None and self.select is None

    def __str__(self) -> str:
        given = (("label", self.label), ("colour", self.colour), ("select", self.select))
        return ", ".join(f"{key}: {value!r}" for key, value in given if value is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class EnclosingGroups:
    """Groups around an element: their labels and their ids, from the outermost one inward.

    `layer` is the label of the innermost group that a drawing program marks as a layer.
    """

    labels: tuple[str, ...] = ()
    ids: tuple[str, ...] = ()
    layer: str | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Labels, or ids where no group has a label."""
        return self.labels or self.ids

    @property
    def nearest(self) -> str | None:
        """Label or id of the nearest group that has one."""
        return self.names[-1] if self.names else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One painted element of the drawing.

    `id` is the element's id, or its path of positions when it has none; `line` the line in the
    file; `label` names the nearest group around it, `around` the groups around that one, from the
    outermost inward, `layer` its editor layer; `colour` is the computed paint as #rrggbb;
    `selectors` are those of the recipe's CSS selectors that match the element or a group around
    it; `geometry` is what it painted, in mm, after clips and knock-outs. `matrix` maps the drawing
    to where the element lies, and `copy_of` is the id in the drawing of what was copied.
    """

    id: str
    line: int | None = None
    label: str | None = None
    around: tuple[str, ...] = ()
    layer: str | None = None
    colour: str | None = None
    selectors: frozenset[str] = frozenset()
    geometry: MultiPolygon | MultiLineString | None = None
    matrix: tuple[float, float, float, float, float, float] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    copy_of: str | None = None

    @property
    def drawn_id(self) -> str:
        """Its id in the drawing, also of a copy."""
        return self.copy_of or self.id

    def matches(self, selection: Selection) -> bool:
        """Say whether every given key of the selection agrees with this element."""
        return (
            (selection.label in {None, self.label} or selection.label in self.around)
            and (selection.colour is None or selection.colour.lower() == self.colour)
            and (selection.select is None or selection.select in self.selectors)
        )
