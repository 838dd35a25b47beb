"""Widths asked for: textLength of the drawing (SVG 2, section 11.5), fit of the recipe."""

from __future__ import annotations

from array import array
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.text.layout.positions import letters_of_elements
from preprocess.read.xml.affine import largest_stretch
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.model.options.lettering import Fit
    from preprocess.read.scene.scene import Scene
    from preprocess.read.shapes.path_data import Path
    from preprocess.read.text.layout.chunks import PlacedCluster
    from preprocess.read.text.layout.runs import Cluster
    from preprocess.read.text.letters import Letter, Span


def apply_text_length(
    scene: Scene, letters: Sequence[Letter], clusters: Sequence[Cluster]
) -> dict[int, Cluster]:
    """Clusters by the number of their first letter, with the widths that the drawing asks for."""
    found = {cluster.letter: cluster for cluster in clusters}
    for element, (span, numbers) in reversed(letters_of_elements(letters).items()):
        attributes = element.etree_element.attrib
        wanted = scene.units(span.context).length(attributes.get("textLength"), "x", -1.0)
        inside = [found[number] for number in numbers if number in found]
        if wanted < 0 or not inside:
            continue
        if attributes.get("lengthAdjust") == "spacingAndGlyphs":
            found |= _wider(inside, wanted)
        else:
            found |= _apart(inside, wanted)
    return found


def _wider(clusters: Sequence[Cluster], wanted: float) -> dict[int, Cluster]:
    held = sum(cluster.advance for cluster in clusters)
    by = wanted / held if held > 0 else 1.0
    return {
        one.letter: replace(one, advance=one.advance * by, stretch=one.stretch * by)
        for one in clusters
    }


def _apart(clusters: Sequence[Cluster], wanted: float) -> dict[int, Cluster]:
    """Clusters with equal extra space between them; the gap after the last one stays."""
    gaps = len(clusters) - 1
    more = (wanted - sum(cluster.advance for cluster in clusters)) / gaps if gaps else 0.0
    return {one.letter: replace(one, advance=one.advance + more) for one in clusters[:-1]}


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


def _share(scene: Scene, span: Span, fit: Fit, width: float) -> float:
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
