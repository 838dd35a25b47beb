"""keep-only: writes only the chosen shapes, in their place, to mark missed ones."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from shapely import MultiPolygon

from preprocess.engine.contract import Contract, Outcome, Params
from preprocess.engine.facts import BARRED, FILLED, IN_GREYS, MERGED, POWERED, ZONED
from preprocess.engine.ledger_entries import exchange_entries
from preprocess.errors import Refusal
from preprocess.findings import Finding, counted, note, warn
from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.overlay.topmost import divide_by_topmost
from preprocess.geometry.rows.bars import clip_to_rows
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Source

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.picture import Picture
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepOnly(Params):
    """Write only the shapes that `only` and `except` choose, in their exact place.

    For marking a shape that was skipped. Put it last: page, place, layers and powers stay as in
    the whole job, so that the file fits over its mark. A compound keeps what the chosen elements
    painted, and bars stay beside the remaining rows. Going over an existing mark seldom evens it.
    """

    name: ClassVar = "keep-only"
    contract: ClassVar = Contract(
        keeps=frozenset({FILLED, MERGED, ZONED, BARRED, POWERED, IN_GREYS})
    )

    def __call__(self, artwork: Artwork, bench: Bench, /) -> Outcome:  # noqa: ARG002
        """Remove all other shapes and pictures; guides stay, for they are not marked.

        Raises:
            Refusal: nothing is chosen, or lines of several elements are one shape.
        """
        pairs = [(shape, self._kept(shape)) for shape in artwork.shapes]
        kept = [new for _, new in pairs if new is not None]
        pictures = tuple(one for one in artwork.pictures if self._means_picture(one))
        if not pictures and all(shape.operation is Operation.GUIDE for shape in kept):
            raise _nothing(self)
        gone = [old for old, new in pairs if new is not old]
        shapes = _with_bars(artwork, kept) if gone else artwork.shapes
        return Outcome(
            artwork=replace(artwork, shapes=tuple(shapes), pictures=pictures),
            findings=(
                _repeat(shapes, pictures),
                *_left_out(gone, set(artwork.pictures) - set(pictures)),
            ),
            changes=exchange_entries(artwork.shapes, shapes, "only what is chosen is kept"),
        )

    def _means(self, source: Source) -> bool:
        wanted = self.only is None or source.matches(self.only)
        return wanted and not (self.except_ is not None and source.matches(self.except_))

    def _means_picture(self, picture: Picture) -> bool:
        names = frozenset({f"#{picture.id}", "image"})
        source = Source(id=picture.id, label=picture.label, around=picture.around, selectors=names)
        return self._means(source)

    def _kept(self, shape: Shape) -> Shape | None:
        """The shape, what the chosen of its elements painted, or nothing."""
        if shape.operation is Operation.GUIDE:
            return shape
        chosen = [self._means(source) for source in shape.sources]
        if all(chosen):
            return shape
        if not any(chosen):
            return None
        if shape.grey is not None:
            raise Refusal(
                f"{shape.id!r} is an image of several elements, and only some are chosen",
                "choose all of them, or put keep-only before grey",
            )
        area = _painted_by(shape, chosen)
        theirs = tuple(s for s, mine in zip(shape.sources, chosen, strict=True) if mine)
        return None if area.is_empty else replace(shape, geometry=area, sources=theirs)


def _painted_by(shape: Shape, chosen: Sequence[bool]) -> MultiPolygon:
    """The part of an area that the chosen elements painted; the topmost element owns it."""
    known = [
        (source.geometry, int(mine))
        for source, mine in zip(shape.sources, chosen, strict=True)
        if isinstance(source.geometry, MultiPolygon) and not source.geometry.is_empty
    ]
    if not shape.is_area or not known:
        raise Refusal(
            f"{shape.id!r} unites elements that cannot be told apart, and only some are chosen",
            "put keep-only before the step that united them, or choose all of them",
        )
    areas = divide_by_topmost(
        shape.geometry, [area for area, _ in known], [mine for _, mine in known]
    )
    return areas.get(1, MultiPolygon())


def _with_bars(artwork: Artwork, kept: Sequence[Shape]) -> list[Shape]:
    """Bars of each layer and level beside what is left there, on one of its shapes."""
    shapes = [replace(shape, bars=None) if shape.bars is not None else shape for shape in kept]
    for layer, level in dict.fromkeys((s.layer, s.level) for s in kept if s.is_engraved_area):
        before = [s for s in artwork.shapes_of(layer) if s.level == level and s.bars is not None]
        mine = [
            i
            for i, s in enumerate(shapes)
            if s.is_engraved_area and (s.layer, s.level) == (layer, level)
        ]
        bars = as_area([s.bars for s in before if s.bars is not None])
        angle = artwork.layer(layer).of(Operation.ENGRAVE).over(USUAL_SETTINGS).angle or 0.0
        bars = clip_to_rows(bars, [shapes[i].geometry for i in mine], angle)
        if not bars.is_empty:
            first = next((i for i in mine if kept[i].bars is not None), mine[0])
            shapes[first] = replace(shapes[first], bars=bars)
    return shapes


def _nothing(step: KeepOnly) -> Refusal:
    if step.only is None and step.except_ is None:
        return Refusal("there is nothing to keep", "check that the drawing holds shapes to mark")
    return Refusal(
        "nothing of the drawing is chosen to be kept",
        "check the spelling; an unquoted # starts a comment in YAML, so quote it: '#id'",
    )


def _repeat(shapes: Sequence[Shape], pictures: Sequence[Picture]) -> Finding:
    marked = [s for s in shapes if s.operation is not Operation.GUIDE]
    message = (
        f"only {counted(len(marked) + len(pictures), 'shape')} will be marked, in place; going "
        "over a mark seldom evens it: it gets heavier, and its rows may fall beside the old ones"
    )
    remedy = (
        "keep only shapes that were not marked at all; lay the part exactly as before; place the "
        "file by its page, for the box of the drawing has changed"
    )
    elements = [*(s.id for s in marked), *(p.id for p in pictures)]
    return warn("repeat-over-mark", message, remedy, elements=elements)


def _left_out(gone: Sequence[Shape], pictures: set[Picture]) -> list[Finding]:
    ids = [*dict.fromkeys(shape.id for shape in gone), *sorted(one.id for one in pictures)]
    if not ids:
        return []
    message = f"{counted(len(ids), 'shape')} left out, whole or in part"
    return [note("not-kept", message, elements=ids)]
