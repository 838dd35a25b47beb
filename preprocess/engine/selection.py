"""Selection: the shapes that `only` and `except` choose for a pass."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Callable

    from preprocess.engine.contract import Params
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.artwork.source import Selection


def selection_test(artwork: Artwork, params: Params) -> Callable[[Shape], bool]:
    """Test for the shapes that a pass works on.

    Raises:
        Refusal: a selection that is not optional is empty, or it matches only some of the sources
            of a merged shape.
    """
    _expect_some(artwork, params.only, "only")
    _expect_some(artwork, params.except_, "except")

    def test(shape: Shape) -> bool:
        wanted = params.only is None or _whole(shape, params.only)
        return wanted and not (params.except_ is not None and _whole(shape, params.except_))

    return test


def selected_areas(artwork: Artwork, params: Params) -> list[Shape]:
    """The engraved areas that a pass works on, in marking order; errors as `selection_test`."""
    wanted = selection_test(artwork, params)
    return [shape for shape in artwork.shapes if shape.is_engraved_area and wanted(shape)]


def selected_by(artwork: Artwork, selection: Selection, key: str) -> tuple[Shape, ...]:
    """The shapes that another selection of a pass chooses, in order; `key` is its parameter.

    Raises:
        Refusal: there are none and it is not optional, or it chooses a part of a merged shape.
    """
    _expect_some(artwork, selection, key)
    return tuple(shape for shape in artwork.shapes if _whole(shape, selection))


def _whole(shape: Shape, selection: Selection) -> bool:
    every, some = shape.matches(selection)
    if some and not every:
        raise Refusal(
            f"{selection} matches only some of the elements merged into {shape.id!r}",
            "put this step before the merge, or choose all of these elements",
        )
    return every


def _expect_some(artwork: Artwork, selection: Selection | None, key: str) -> None:
    if selection is None or selection.optional:
        return
    if any(shape.matches(selection)[1] for shape in artwork.shapes):
        return
    raise Refusal(
        f"{key}: {{{selection}}} matches no shape of the drawing",
        "check the spelling; quote ids ('#id'), since a bare # starts a YAML comment; add "
        "optional: true if some drawings have no match",
    )
