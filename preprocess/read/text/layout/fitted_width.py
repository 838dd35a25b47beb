"""The width that a recipe gives a text: what is wider is drawn smaller."""

from __future__ import annotations

from array import array
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.xml.affine import largest_stretch
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.model.options.lettering import TextFit
    from preprocess.read.scene.scene import Scene
    from preprocess.read.shapes.path_data import Path
    from preprocess.read.text.layout.chunks import PlacedCluster
    from preprocess.read.text.letters import Span

_ROUNDING = 1e-9


def shrink_to_fit(
    scene: Scene, placed: Sequence[PlacedCluster], pieces: Sequence[tuple[Span, Path]]
) -> list[tuple[Span, Path]]:
    """The outlines of a text, those of spans that are too wide drawn smaller."""
    return [(span, _fitted(scene, span, placed, path)) for span, path in pieces]


def _fitted(scene: Scene, span: Span, placed: Sequence[PlacedCluster], path: Path) -> Path:
    fit = scene.fits.get(span.element.etree_element)
    if fit is None:
        return path
    mine = [one for one in placed if one.cluster.span is span]
    left = min(one.x for one in mine)
    right = max(one.x + one.cluster.advance for one in mine)
    share = _share(scene, span, fit, (right - left) * largest_stretch(span.context.matrix))
    if share >= 1:
        return path
    anchor = span.style("text-anchor").lower()
    backwards = span.style("direction").lower() == "rtl"
    x = (left + right) / 2 if anchor == "middle" else left
    if (anchor == "end") is not backwards and anchor != "middle":
        x = right
    return _scaled(path, share, x, mine[0].y)


def _share(scene: Scene, span: Span, fit: TextFit, width: float) -> float:
    """Scale at which a text of this width (mm) fits; 1 with a remark where none is allowed."""
    share = fit.width / width if width > fit.width * (1 + _ROUNDING) else 1.0
    if share < fit.smallest * (1 - _ROUNDING):
        detail = f"{width:.2f} mm, where {digits(fit.width)} mm are free"
        scene.say(span.visit, "text-too-wide", detail)
        return 1.0
    if share < 1:
        scene.say(
            span.visit,
            "text-shrunk",
            f"to {100 * share:.0f} % of its size",
        )
    return share


def _scaled(path: Path, share: float, x: float, y: float) -> Path:
    numbers = array("d", path.numbers)
    for at in range(0, len(numbers), 2):
        numbers[at] = x + share * (numbers[at] - x)
        numbers[at + 1] = y + share * (numbers[at + 1] - y)
    return replace(path, numbers=numbers)
