"""The jig: a card to cut, so that parts go back to the same place and the bed is shielded.

The card lies fixed in the field. Its windows are the parts' silhouettes with some clearance, cut
where the parts will be marked; two datum crosses and two corners of the field are scored on it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString, MultiPolygon, Polygon

from preprocess.coupon.artwork.card_lettering import scored_name, seat_numbers
from preprocess.errors import Refusal
from preprocess.findings import Finding, note, on_page, stops, warn
from preprocess.geometry.offset.offset import grow_area
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.checks.artwork_checks import check_artwork
from preprocess.marking.machine.datum import Datum, datum_of
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.own_marks import OwnMark, own_mark
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source
from preprocess.units import digits
from preprocess.write.guides.anchors import corner_marks
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.verified import verified_svg

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.settings import Settings
    from preprocess.model.bench.bench import Bench

_CLEARANCE = 0.2
"""mm between a part and its window by default."""

_NARROW = 1.5
"""mm of card between two windows, or a window and a datum, that may tear."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Jig:
    """A card: its artwork, its colours by output id, findings, and bytes unless one stops it."""

    artwork: Artwork
    datum: Datum
    colours: dict[str, str]
    findings: tuple[Finding, ...]
    data: bytes | None


def make_jig(
    after: Artwork,
    bench: Bench,
    settings: dict[Operation, Settings],
    *,
    clearance: float = _CLEARANCE,
    seats: int = 1,
    name: str = "",
) -> Jig:
    """Make the card for an artwork.

    Args:
        after: the artwork as it is written, with parts and bars.
        bench: machine, for its field and limits; parts, for their height.
        settings: of the recipe, for scoring and cutting.
        clearance: between part and window, mm.
        seats: of the tray; two and more are numbered on the card.
        name: of the job, scored beside the windows.

    Raises:
        Refusal: no part is known.
    """
    if not after.parts:
        raise Refusal(
            "the recipe names no part, so there is nothing to cut around",
            "give part: its outline in the drawing, or its width and height",
        )
    points = datum_of(after, bench.machine_or_default)
    windows = _windows(after, clearance)
    numbers, crowded = seat_numbers(after, windows, points, seats)
    called, unnamed = scored_name(after, windows, points, numbers, name)
    card = _card(after, windows, points, settings, {"seat": numbers, "name": called})
    outputs = output_layers(card)
    colours, complaints = assign_colours(outputs, {}, bench.machine_or_default)
    as_laid = replace(card, page=after.page)  # the page says where the field begins
    found = [f for f in check_artwork(as_laid, bench) if f.code not in _OF_NO_CARD]
    found += [
        *complaints,
        *crowded,
        *unnamed,
        *_findings(after, windows, points, bench),
        *_cautions(),
    ]
    found.append(_box(card, after))
    told = on_page(found, card.page.left, card.page.top)
    return Jig(
        artwork=card,
        datum=points,
        colours=colours,
        findings=told,
        data=None if stops(told) else verified_svg(card, colours),
    )


_OF_NO_CARD = frozenset({"check-turned-off", "beyond-the-part"})


def _windows(after: Artwork, clearance: float) -> MultiPolygon:
    """Outlines to cut; holes in a part are no windows, for their card would fall out."""
    solid = [Polygon(polygon.exterior) for part in after.parts for polygon in part.geoms]
    return grow_area(union([MultiPolygon([polygon]) for polygon in solid]), clearance)


def _card(
    after: Artwork,
    windows: MultiPolygon,
    points: Datum,
    settings: dict[Operation, Settings],
    lettering: dict[str, list[MultiLineString]],
) -> Artwork:
    score, cut = Operation.SCORE, Operation.CUT
    marks = [
        _shape(f"datum-{n}", "datum", score, cross) for n, cross in enumerate(points.crosses, 1)
    ]
    name = "anchor" if own_mark(after, OwnMark.ANCHORS) else "field-corner"
    name = name if points.is_field else "page-corner"
    marks += [
        _shape(f"{name}-{n}", "datum", score, lines)
        for n, lines in enumerate(corner_marks(points.frame), 1)
    ]
    marks += [
        _shape(f"{kind}-{n}", "datum", score, one)
        for kind, words in lettering.items()
        for n, one in enumerate(words, 1)
    ]
    marks += [
        _shape(f"window-{n}", "windows", cut, MultiPolygon([window]))
        for n, window in enumerate(windows.geoms, 1)
    ]
    layers = tuple(
        Layer(name=layer, operation=operation, settings=settings)
        for layer, operation in (("datum", score), ("windows", cut))
    )
    return replace(after, page=_page(after.page, points.frame), shapes=tuple(marks), layers=layers)


def _shape(
    name: str, layer: str, operation: Operation, geometry: MultiPolygon | MultiLineString
) -> Shape:
    source = Source(id=name, geometry=geometry)
    return Shape(id=name, layer=layer, operation=operation, geometry=geometry, sources=(source,))


def _page(page: Page, frame: Polygon) -> Page:
    """The page of the output, grown by the same on opposite sides until it holds the frame."""
    (x, y), (left, top, right, bottom) = page.centre, frame.bounds
    width = max(page.width, 2 * (x - left), 2 * (right - x))
    height = max(page.height, 2 * (y - top), 2 * (bottom - y))
    return replace(page, width=width, height=height, left=x - width / 2, top=y - height / 2)


def _findings(after: Artwork, windows: MultiPolygon, points: Datum, bench: Bench) -> list[Finding]:
    bars = [shape.bars for shape in after.shapes if shape.bars is not None]
    found = []
    if bars and union(bars).intersects(windows):
        message = "bars reach into a window of the card and would strike the bed beside the part"
        remedy = "give the card less clearance, or give equalize-width more"
        found.append(warn("bar-over-window", message, remedy))
    if not points.clear:
        message = "no place along the frame has room for both datum crosses"
        remedy = "move the artwork away from the edges, or name the machine's field"
        found.append(warn("datum-covered", message, remedy))
    if not points.is_field:
        message = "the machine's field is unknown: the corners are those of the output page"
        found.append(note("datum-on-page", message, "name the machine and its field"))
    if _tears(windows):
        message = f"two windows are less than {digits(_NARROW)} mm apart: the card between may tear"
        found.append(note("narrow-card", message, "place the parts farther apart"))
    return [*found, *_heights(bench)]


def _tears(windows: MultiPolygon) -> bool:
    parts = shapely.get_parts(windows)
    one, two = shapely.STRtree(parts).query(parts, predicate="dwithin", distance=_NARROW)
    return bool((one != two).any())


def _heights(bench: Bench) -> list[Finding]:
    high = max((part.height for part in bench.parts), default=0.0)
    if not high:
        return []
    message = f"the card lies on the bed, {digits(high)} mm below the marked surface"
    remedy = "focus on the card to cut it, and on the part to mark it"
    return [note("card-below-the-mark", message, remedy)]


def _cautions() -> list[Finding]:
    return [
        note(
            "card-cautions",
            "the beam strikes the card, which may burn",
            "take plain matt card or board, never PVC, vinyl, foam of unknown make or anything "
            "shiny; extract and filter, wear eyewear for the wavelength, keep the enclosure "
            "closed, and never leave it alone",
        ),
        note(
            "card-stays-put",
            "the card holds parts in place only where it was cut",
            "fix it to the bed before cutting and leave it there; to lay it again, switch the "
            "marking beam off, and bring both crosses under the visible aiming light at the datum "
            "points",
        ),
    ]


def _box(card: Artwork, after: Artwork) -> Finding:
    left, top, right, bottom = shapely.total_bounds([s.geometry for s in card.shapes])
    a, b, c, d = shapely.total_bounds(after.parts)
    across, down = (a + c - left - right) / 2, (b + d - top - bottom) / 2
    message = (
        f"all lines measure {right - left:.2f} × {bottom - top:.2f} mm; the middle of the parts "
        f"lies {_way(across, 'left', 'right')} and {_way(down, 'up', 'down')} from their middle"
    )
    remedy = "give both figures to software that places imports by their box"
    return note("card-box", message, remedy)


def _way(distance: float, less: str, more: str) -> str:
    return f"{abs(distance):.2f} mm {less if distance < 0 else more}"
