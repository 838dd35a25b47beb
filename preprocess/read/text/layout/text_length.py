"""The width that a drawing asks of its text: textLength (SVG 2, section 11.5)."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.text.layout.positions import letters_of_elements

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.read.scene.scene import Scene
    from preprocess.read.text.layout.runs import Cluster
    from preprocess.read.text.letters import Letter


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
