"""A text element as outlines that are filled and stroked like any other."""

from __future__ import annotations

from importlib.util import find_spec
from typing import TYPE_CHECKING

from preprocess.read.messages.remarks import Remark
from preprocess.read.paint.paint_outline import paint_outline
from preprocess.read.scene.painted import Ink, PaintedOutline
from preprocess.read.xml.affine import is_degenerate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.read.fonts.font import Font
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.shapes.path_data import Path
    from preprocess.read.text.layout.chunks import PlacedCluster
    from preprocess.read.text.letters import Letter, Span


_ACROSS = frozenset({"horizontal-tb", "lr", "lr-tb", "rl", "rl-tb"})

TEXT_EXTRA_MODULES = ("fontTools", "uharfbuzz", "bidi")
"""Modules of the `text` extra."""


def has_text_extra() -> bool:
    """Test whether the `text` extra is installed."""
    return all(find_spec(name) is not None for name in TEXT_EXTRA_MODULES)


def text_outlines(walker: ElementWalker, visit: ElementVisit) -> list[PaintedOutline]:
    """Outlines painted by a text element, one for each of its spans and fonts."""
    from preprocess.read.text.letters import letters_of

    scene, context = walker.scene, visit.context
    letters = letters_of(scene, visit)
    if not any(letter.character.strip() for letter in letters):
        return []
    if is_degenerate(context.matrix):
        scene.say(visit, "flat-shape")
        return []
    if not has_text_extra():
        scene.say(visit, "text-needs-extra")
        return []
    return [
        one
        for span, path in _outlines(scene, letters, context)
        for one in _inked(walker, visit, span, path)
    ]


def _outlines(
    scene: Scene, letters: Sequence[Letter], context: RenderContext
) -> list[tuple[Span, Path]]:
    from preprocess.read.text.layout.chunks import place_clusters
    from preprocess.read.text.layout.fitted_width import shrink_to_fit
    from preprocess.read.text.layout.runs import choose_fonts
    from preprocess.read.text.outlines import cluster_cells, cluster_outlines

    fonts = choose_fonts(scene, letters)
    for path in scene.shelf.unreadable:
        scene.remarks.add(Remark("font-unreadable", path.name))
    if fonts is None:
        return []
    _say_unfollowed(scene, letters, fonts)
    placed: list[PlacedCluster] = list(place_clusters(scene, letters, fonts))
    return shrink_to_fit(
        scene, placed, cluster_cells(placed) if context.cells else cluster_outlines(placed)
    )


def _say_unfollowed(scene: Scene, letters: Sequence[Letter], fonts: Sequence[Font]) -> None:
    """Remarks on unsupported settings, once for each span."""
    fonts_of_spans = dict(zip((letter.span for letter in letters), fonts, strict=True))
    for span, font in fonts_of_spans.items():
        writing = span.style("writing-mode").lower()
        if writing not in _ACROSS:
            scene.say(span.visit, "text-style-ignored", f"writing-mode {writing}")
        if "small-caps" in span.style("font-variant").lower() and not font.has_small_capitals:
            scene.say(span.visit, "text-style-ignored", f"small-caps in {font.face.label}")


def _inked(
    walker: ElementWalker, text: ElementVisit, span: Span, path: Path
) -> list[PaintedOutline]:
    visit = span.visit
    if visit.style("visibility").lower() != "visible" and not visit.context.hidden:
        walker.scene.say(visit, "hidden")
        visit = visit.inside(hidden=True)
    if visit.context.silhouette:
        return [visit.outline(path, Ink("#000000"))]
    user = text._replace(context=visit.context, alias=visit.name)
    return paint_outline(walker, user, visit.outline(path))
