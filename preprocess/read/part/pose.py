"""Poses: where the model of a part lies on the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.errors import Complaint, Place, UserError
from preprocess.findings import listed, note, warn
from preprocess.geometry.base.affine import about_point, compose, rotation, translation
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.relief.registration import fit_outline, size_ratio
from preprocess.model.bench.part import Corner
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.findings import Finding
    from preprocess.geometry.relief.registration import OutlineFit
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.bench.part import Part
    from preprocess.model.bench.relief import Relief

_MISFIT, _LOOSE = 1.0, 0.2
"""mm between model and drawn outline that are too much, and that are told."""

_TURNED = 0.01
"""Degrees below which a part is not turned."""


def pose_on_page(part: Part, relief: Relief, page: Page) -> Matrix:
    """The map from the model, about the middle of its box, to its place on the page.

    It is laid by a corner or by its centre; that is the middle of the page unless said otherwise.
    """
    place = part.place
    turn = rotation(place.turn or 0.0)
    left, top, right, bottom = apply_affine(relief.outline, turn).bounds
    if place.corner is not None and place.on is not None:
        x = left if place.corner in {Corner.UPPER_LEFT, Corner.LOWER_LEFT} else right
        y = top if place.corner in {Corner.UPPER_LEFT, Corner.UPPER_RIGHT} else bottom
        target = place.on
    else:
        x, y = (left + right) / 2, (top + bottom) / 2
        target = place.centre if isinstance(place.centre, tuple) else page.centre
    return compose(translation(target[0] - x, target[1] - y), turn)


def pose_under_outline(
    part: Part, relief: Relief, drawn: MultiPolygon, name: str
) -> tuple[Matrix, list[Finding]]:
    """The map from the model to its outline in the drawing, and what to know about it.

    Args:
        part: its keys; `turn` chooses among places where the outline fits as well.
        relief: the part, about the middle of its box.
        drawn: its outline in the drawing, mm.
        name: what to call the drawing in messages.

    Raises:
        UserError: the outline does not fit, or fits only mirrored.
    """
    fits = fit_outline(relief.outline, drawn)
    best = _chosen(fits, part.place.turn)
    selector = part.place.outline
    if best.gap > _MISFIT:
        raise UserError(_misfit(relief, drawn, best, f"{selector}", name))
    if best.mirrored:
        found = f"{selector} fits the part only mirrored: it is drawn as seen from the other side"
        remedy = "mirror the drawing, or write up: '-z' if the underside is marked"
        raise UserError(Complaint(found, remedy, Place(name)))
    return best.matrix, [*_fit_findings(best, f"{selector}"), *_tie_findings(fits, best, part)]


def _chosen(fits: Sequence[OutlineFit], turn: float | None) -> OutlineFit:
    if turn is None:
        return fits[0]
    return min(fits, key=lambda fit: (fit.mirrored, abs((fit.turn - turn + 180) % 360 - 180)))


def _misfit(
    relief: Relief, drawn: MultiPolygon, best: OutlineFit, selector: str, name: str
) -> Complaint:
    ratio = size_ratio(relief.outline, drawn)
    scaled = apply_affine(drawn, about_point((ratio, 0.0, 0.0, ratio, 0.0, 0.0), (0.0, 0.0)))
    found = f"the part is off its outline {selector} by up to {digits(best.gap, 2)} mm"
    if fit_outline(relief.outline, scaled)[0].gap <= _MISFIT:
        found += f"; drawn {digits(ratio, 3)} times as large, it would fit"
        remedy = "correct drawing: px_per_inch (72, 90 or 96), or the size of the outline"
    else:
        remedy = "draw the outline as evenmark start --model writes it, or name the right one"
    return Complaint(found, remedy, Place(name))


def _fit_findings(best: OutlineFit, selector: str) -> list[Finding]:
    turned = f", turned by {digits(best.turn, 4)}°" if abs(best.turn) > _TURNED else ""
    message = f"the part lies under {selector} within {max(best.gap, 0.01):.2f} mm{turned}"
    if best.gap > _LOOSE:
        return [warn("model-outline", message, "draw the outline closer to the part")]
    return [note("model-outline", message)]


def _tie_findings(fits: Sequence[OutlineFit], best: OutlineFit, part: Part) -> list[Finding]:
    others = [fit for fit in fits if fit is not best]
    if not others or part.place.turn is not None:
        return []
    ways = [f"{digits(f.turn, 4)}°" + (" mirrored" if f.mirrored else "") for f in others]
    message = f"the part fits its outline as well turned by {listed(ways)}; the smallest was taken"
    return [note("model-symmetric", message, "name another with turn: under place")]
