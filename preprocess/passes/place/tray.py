"""Copies of a drawing for a tray of parts, each with a silhouette and keep-off areas of its own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely

from preprocess.errors import Refusal
from preprocess.findings import Finding, listed, note, warn
from preprocess.geometry.base.affine import compose, translation
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.machine.machine_field import field_box
from preprocess.passes._shared.transform import shape_mapped
from preprocess.passes._shared.unique_ids import unique_ids
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Matrix, Shape
    from preprocess.model.bench.machine import Machine

_TOUCH = 1e-6
"""mm; silhouettes that overlap by less lie side by side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tray:
    """Numbers of copies across and down, and the distance from one to the next, mm."""

    copies: tuple[int, int]
    spacing: tuple[float, float]

    @property
    def shifts(self) -> list[tuple[float, float]]:
        """Moves of the copies from the drawing, mm: row by row, symmetric about it."""
        (across, down), (dx, dy) = self.copies, self.spacing
        return [
            (dx * (column - (across - 1) / 2), dy * (row - (down - 1) / 2))
            for row in range(down)
            for column in range(across)
        ]

    @property
    def growth(self) -> tuple[float, float]:
        """By how much the page grows on each side, across and down, mm."""
        (across, down), (dx, dy) = self.copies, self.spacing
        return dx * (across - 1) / 2, dy * (down - 1) / 2


def tray_of(
    copies: tuple[int, int] | None, spacing: tuple[float, float] | None, *, whole: bool
) -> Tray | None:
    """Tray that was asked for; None without copies. `whole` says that no shapes were chosen.

    Raises:
        Refusal: only one of copies and spacing is given, or only some shapes are chosen.
    """
    if copies is None:
        if spacing is not None:
            raise Refusal("there is a spacing but no copies", "add them, such as copies: [3, 4]")
        return None
    if spacing is None:
        raise Refusal(
            "the spacing of the copies is missing",
            "add the distances from one pocket to the next, such as spacing: [60 mm, 40 mm]",
        )
    if not whole:
        raise Refusal(
            "copies repeat the whole drawing with its part, but only some of it is chosen",
            "put only and except into a first place step, and copies into a second one",
        )
    return Tray(copies=copies, spacing=spacing)


def copy_over_tray(seats: Mapping[int, Artwork], tray: Tray) -> Artwork:
    """Each seat's artwork in its place, seat by seat; ids stay unique: leaf, leaf-copy-2.

    Silhouettes and keep-off areas stand in empty seats, too: the parts' middle stays the same.

    Raises:
        Refusal: silhouettes of two copies would overlap, or without silhouettes their artwork.
    """
    artwork = seats[min(seats)]
    _expect_apart(list({id(one): one for one in seats.values()}.values()), tray)
    maps = [translation(*shift) for shift in tray.shifts]
    held = [(number, seats[number], maps[number - 1]) for number in sorted(seats)]
    return replace(
        artwork,
        page=artwork.page.grown(*tray.growth),
        shapes=tuple(_shapes(held, len(maps))),
        layers=tuple({layer.name: layer for _, one, _ in held for layer in one.layers}.values()),
        parts=tuple(apply_affine(part, matrix) for matrix in maps for part in artwork.parts),
        keep_off=tuple(apply_affine(area, matrix) for matrix in maps for area in artwork.keep_off),
        poses=tuple(
            None if pose is None else compose(matrix, pose)
            for matrix in maps
            for pose in artwork.poses
        ),
        pictures=tuple(
            replace(picture, id=_name(picture.id, number), matrix=compose(matrix, picture.matrix))
            for number, one, matrix in held
            for picture in one.pictures
        ),
    )


def _shapes(held: Sequence[tuple[int, Artwork, Matrix]], count: int) -> Iterator[Shape]:
    every = [shape for _, one, _ in held for shape in one.shapes]
    shapes = _names([*dict.fromkeys(shape.id for shape in every)], count)
    sources = _names([*dict.fromkeys(x.id for shape in every for x in shape.sources)], count)
    for number, artwork, matrix in held:
        for shape in artwork.shapes:
            copy = shape_mapped(shape, matrix)
            yield replace(
                copy,
                id=shapes[shape.id, number],
                sources=tuple(
                    replace(x, id=sources[x.id, number], copy_of=x.drawn_id) for x in copy.sources
                ),
            )


def _names(own: list[str], count: int) -> dict[tuple[str, int], str]:
    """An id for each id and copy, unlike all others; the first copy keeps its own."""
    keys = [(name, number) for number in range(2, count + 1) for name in dict.fromkeys(own)]
    found = unique_ids([_name(*key) for key in keys], own)
    return dict(zip(keys, found, strict=True)) | {(name, 1): name for name in own}


def _name(name: str, number: int) -> str:
    return name if number == 1 else f"{name}-copy-{number}"


def _expect_apart(artworks: Sequence[Artwork], tray: Tray) -> None:
    """See that no copy overlaps one of its neighbours; with those all others are apart too."""
    painted = [s.geometry for one in artworks for s in one.shapes if s.is_area]
    whole = union(artworks[0].parts or painted)
    (across, down), (dx, dy) = tray.copies, tray.spacing
    sideways = [(dx, 0.0)] if across > 1 else []
    below = [(x, dy) for x in ((0.0, dx, -dx) if across > 1 else (0.0,))] if down > 1 else []
    for shift in (*sideways, *below):
        if shapely.intersection(whole, apply_affine(whole, translation(*shift))).area > _TOUCH:
            left, top, right, bottom = whole.bounds
            raise Refusal(
                f"copies {digits(dx)} mm apart across and {digits(dy)} mm down would overlap: each "
                f"is {right - left:.2f} × {bottom - top:.2f} mm",
                f"give a spacing of at least [{right - left:.2f} mm, {bottom - top:.2f} mm]",
            )


def tray_findings(
    after: Artwork, tray: Tray, machine: Machine, empty: Sequence[int]
) -> Iterator[Finding]:
    """All findings about copies; `empty` are seats without a label."""
    count = len(tray.shifts) - len(empty)
    if empty:
        message = f"seats {listed([str(seat) for seat in empty])} of the tray stay empty"
        yield note("empty-seats", message, "nothing is marked there; a part there stays blank")
    wide, high = tray.growth
    message = (
        f"{count} copies, {tray.copies[0]} across and {tray.copies[1]} down, on a page that grew "
        f"by {digits(wide)} mm on the left and right and {digits(high)} mm at top and bottom"
    )
    yield note("copies-made", message, "merge after place sweeps all copies of a row together")
    if not after.parts and count > 1:
        message = "the part is missing, so heat is predicted as if all copies were one body"
        yield note("copies-on-one-body", message, "name the part in the recipe")
    field = field_box(after, machine)
    parts = union(after.parts)
    if field is not None and not parts.is_empty and not field.covers(parts):
        left, top, right, bottom = parts.bounds
        message = (
            f"the tray of {right - left:.1f} × {bottom - top:.1f} mm does not fit the field of "
            f"{digits(field.bounds[2] - field.bounds[0])} × "
            f"{digits(field.bounds[3] - field.bounds[1])} mm"
        )
        yield warn("tray-off-the-field", message, "make fewer copies, or space them closer")
