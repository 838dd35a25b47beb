"""What a job sheet tells, and small things that its pieces share."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import shapely
from lxml import etree
from markupsafe import Markup

from preprocess.preview.drawing.canvas import Viewport, mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from shapely import Geometry

    from preprocess.findings import Finding
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench

    Box = tuple[float, float, float, float]

_SVG = "http://www.w3.org/2000/svg"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetJob:
    """One run: what was read, what is written, and what is to be expected of it.

    `findings` are all that were told, with places on the output page; `predicted` (before, after)
    is None when heat was left out; `recipe` is the recipe as run, as plain data.
    """

    title: str
    before: Artwork
    after: Artwork
    bench: Bench
    colours: Mapping[str, str]
    findings: Sequence[Finding] = ()
    predicted: tuple[Prediction, Prediction] | None = None
    recipe: Mapping[str, Any] = field(default_factory=dict)
    versions: Mapping[str, str] = field(default_factory=dict)


def joint_box(geometries: Iterable[Geometry]) -> Box | None:
    """Joint box: left, top, right, bottom; None of nothing."""
    boxes = [shapely.box(*g.bounds) for g in geometries if not g.is_empty]
    if not boxes:
        return None
    left, top, right, bottom = (float(v) for v in shapely.total_bounds(boxes))
    return left, top, right, bottom


def fit_viewport(box: Box, wide: float, high: float, margin: float = 1.0) -> tuple[Viewport, Box]:
    """The frame that shows a box within a picture of at most that size, and the picture's box."""
    width, height = max(box[2] - box[0], 1e-3), max(box[3] - box[1], 1e-3)
    scale = min((wide - 2 * margin) / width, (high - 2 * margin) / height)
    frame = Viewport(scale=scale, origin=(box[0], box[1]), corner=(margin, margin))
    return frame, (0.0, 0.0, width * scale + 2 * margin, height * scale + 2 * margin)


def svg_text(
    title: str, lines: Iterable[str], size: tuple[float, float], defs: Sequence[str] = ()
) -> str:
    """A picture of that size in mm as text; the title is what is read out for it."""
    wide, high = mm(size[0]), mm(size[1])
    defined = f"<defs>{''.join(defs)}</defs>" if defs else ""
    return (
        f'<svg xmlns="{_SVG}" viewBox="0 0 {wide} {high}" width="{wide}mm" height="{high}mm">'
        f"<title>{title}</title>{defined}{''.join(lines)}</svg>"
    )


def inline_svg(text: str, prefix: str) -> Markup:
    """A picture to stand in a page: its ids get a prefix, so that no two pictures share one.

    It becomes one image for people who listen, with its title as name; titles of its groups stay
    for the pointer. Without a title it is decoration. The style sheet may use its size (--wide).
    """
    root = etree.fromstring(text.encode())
    for element in root.iter(etree.Element):
        if "id" in element.attrib:
            element.set("id", f"{prefix}-{element.get('id')}")
        for name, value in element.attrib.items():
            if "url(#" in value:
                element.set(name, value.replace("url(#", f"url(#{prefix}-"))
    root.set("style", f"--wide:{root.get('width')}")
    root.set("role", "img")
    title = root.find(f"{{{_SVG}}}title")
    if title is None or not title.text:
        root.attrib.pop("role")
        root.set("aria-hidden", "true")
    else:
        title.set("id", f"{prefix}-title")
        root.set("aria-labelledby", f"{prefix}-title")
    return Markup(etree.tostring(root, encoding="unicode"))  # noqa: S704 - XML of our own
